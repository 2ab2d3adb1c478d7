// SPDX-License-Identifier: Apache-2.0
//
// Which real hardware gets what is sent on a CAN interface: the interface itself, unless it is virtual,
// and whatever the kernel passes its frames on to:
//
//   vxcan0 ── peer ── vxcan1 ── gateway job (linux/can/gw.h) ──► can0
//
// A filter of a job does not count: what it lets through is decided by the identifiers of the day. The
// other end of a vxcan in another network namespace cannot be looked at, so it counts as hardware under
// the near end's name. Not seen at all: programs that copy frames, and redirections by tc.
#ifndef DRYCRANK_BUS_DRIVEN_H_
#define DRYCRANK_BUS_DRIVEN_H_

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "bus/link_facts.h"

namespace drycrank::bus {

// Frames that arrive at one interface leave by the other as well; indices of the kernel.
struct GatewayJob {
  int from = 0, to = 0;
};

// One piece of hardware, as it was when somebody looked. Another one of its name has another index.
struct Driven {
  int index = 0;
  std::string name, kind;
  std::string way;  // "vcan0, by a gateway job to can0"; empty: directly

  bool operator==(const Driven& other) const {
    return index == other.index && name == other.name && kind == other.kind;
  }
};

using LinkByIndex = std::function<std::optional<LinkFacts>(int index)>;

// Nearest first, each once. Interfaces that are gone are passed over.
std::vector<Driven> DrivenBy(int index, const std::vector<GatewayJob>& jobs,
                             const LinkByIndex& link_of);

// Whether all of `now` is among `armed`.
bool IsWithin(const std::vector<Driven>& now, const std::vector<Driven>& armed);

// "can0, can1"
std::string NamesOf(const std::vector<Driven>& driven, const char* between = ", ");

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_DRIVEN_H_
