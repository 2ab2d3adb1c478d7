// SPDX-License-Identifier: Apache-2.0
#include "profile/state_names.h"

namespace drycrank::profile {

const StateNames& StateNamesOf(std::string_view carries) {
  static const StateNames kSync = {
      {0, "stopped"}, {1, "searching"}, {2, "position known"}, {3, "synchronised"}};
  static const StateNames kReason = {
      {0, "none"},       {1, "no teeth"},    {2, "gap not found"},  {3, "tooth early"},
      {4, "tooth late"}, {5, "cam missing"}, {6, "cam unexpected"}, {7, "cam ambiguous"},
      {8, "no supply"},  {9, "no cam told"}};
  static const StateNames kFault = {
      {0, "none"}, {1, "signal low"}, {2, "signal high"}, {3, "no signal"}};
  static const StateNames kGauge = {
      {0, "ok"}, {1, "warning"}, {2, "stale"}, {3, "not available"}, {4, "off"}};
  static const StateNames kChannel = {{0, "off"}, {1, "on"}, {2, "tripped"}, {3, "open"}};
  static const StateNames kNone;
  if (carries == "sync_state") return kSync;
  if (carries == "sync_reason") return kReason;
  if (carries.ends_with(".fault")) return kFault;
  if (carries.ends_with(".channel_state")) return kChannel;
  return carries.ends_with(".state") ? kGauge : kNone;
}

const StateNames& NamesOfValues(const Signal& signal) {
  return signal.values.empty() ? StateNamesOf(signal.carries) : signal.values;
}

}  // namespace drycrank::profile
