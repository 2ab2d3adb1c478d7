// SPDX-License-Identifier: Apache-2.0
#include "profile/fault_priors.h"

#include <algorithm>
#include <cassert>

namespace drycrank::profile {
namespace {

// A pin in the wrong place is likelier in a small plug, where all pins were crimped at once.
constexpr FaultPrior kUsual[] = {
    {"wire_open", 1},
    {"contact_open", 1},
    {"series_resistance", 0.5},
    {"short_to_ground", 0.3},
    {"short_to_supply", 0.15},
    {"splice_broken_open", 0.2},
    {"terminals_swapped", 0.5},
    {"terminals_of_large_connector_swapped", 0.1},
    {"neighbours_shorted", 0.2},
    {"connectors_swapped", 0.4},
    {"not_fitted", 0.4},
    {"tooth_missing", 0.05},
    {"wheel_mounted_wrong", 0.2},
    {"wrong_calibration", 0.3},
    {"display_byte_order", 0.5},
    {"display_scale", 0.4},
    {"display_offset", 0.3},
    {"message_missing", 0.2},
};

}  // namespace

std::span<const FaultPrior> UsualFaultPriors() { return kUsual; }

double PriorOf(const FaultPriors& priors, std::string_view kind) {
  const auto own = priors.find(std::string(kind));
  if (own != priors.end()) return own->second;
  const auto usual = std::find_if(std::begin(kUsual), std::end(kUsual),
                                  [&](const FaultPrior& prior) { return prior.kind == kind; });
  assert(usual != std::end(kUsual));
  return usual->weight;
}

}  // namespace drycrank::profile
