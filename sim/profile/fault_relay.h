// SPDX-License-Identifier: Apache-2.0
//
// A channel of an output may stand for a fault instead of a device (key `fault`): its relay puts the fault into the
// real harness. Its name in the structures is the fault, and its index is -1:
//
//   open CLT.1                        the contact is cut while the relay is driven (a normally closed contact)
//   series_resistance CLT.1 1 kohm    so much in its way
//   short_together CKP.1 CKP.2 47 ohm
//   short_to_ground CLT.1 100 ohm     to the first supply's minus; through a resistor of 1 ohm or more,
//   short_to_supply CLT.1 fuse 1 A    or behind a fuse: a relay alone welds, and then burns the wire
//
// Safe, and at rest, is: no fault.
#ifndef DRYCRANK_PROFILE_FAULT_RELAY_H_
#define DRYCRANK_PROFILE_FAULT_RELAY_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"
#include "profile/output_channel.h"

namespace drycrank::profile {

inline bool IsFaultRelay(const OutputChannel& channel) { return channel.index < 0; }

struct RelayFault {
  std::string kind;      // as in a scenario
  std::string at, with;  // terminals; `at` of a short to a rail may be a splice
  double ohm = 0;
  bool has_fuse = false;
  double fuse_a = 0;
};
// Nothing: it is not written so; `why` says what is wrong then.
std::optional<RelayFault> ParseRelayFault(std::string_view name, std::string& why);

// Would this relay put that fault in? Resistances within kRelayOhm of each other are the same (E24 is 5 %).
inline constexpr double kRelayOhm = 0.05;
bool PutsIn(const OutputChannel& relay, const Fault& fault);
// Two relays of which nobody could say which one puts a scenario's fault in.
bool PutsInTheSame(const OutputChannel& relay, const OutputChannel& other);

// All of the bench.
std::vector<const OutputChannel*> FaultRelays(const Bench& bench);
// "open CLT.2", as a relay would be named that puts it in.
std::string RelayNameOf(const Fault& fault);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_FAULT_RELAY_H_
