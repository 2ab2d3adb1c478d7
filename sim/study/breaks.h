// SPDX-License-Identifier: Apache-2.0
//
// Every place at which a harness can come apart, as a fault: each wire, each contact in which several
// wires end, and each contact of a node on a bus: what listens on the pair, clipped on to the wires,
// still hears a node whose wire is broken farther on, and not one whose contact is. (Another contact
// with one wire is that wire: broken here or there, the network is the same.) A circuit is whole when
// none of its places is broken.
#ifndef DRYCRANK_STUDY_BREAKS_H_
#define DRYCRANK_STUDY_BREAKS_H_

#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::study {

struct Break {
  profile::Fault open;
  std::vector<int> wires;     // that it interrupts, indices into bench.wires
  std::vector<int> circuits;  // theirs, indices into CircuitNames
};

// Names of the bench's circuits, in the order of its wires.
std::vector<std::string> CircuitNames(const profile::Bench& bench);
// Of fitted wires only.
std::vector<Break> BreaksOf(const profile::Bench& bench);

// The circuits by which what the break parts is joined all the same (two grounds in parallel, a
// second feed), the controller's own joints included; "inside the controller" for those alone.
// Empty: nothing else joins it.
std::vector<std::string> OtherWays(const profile::Bench& bench, const Break& broken);

// Several circuits, all of whose wires are open at once.
struct Parting {
  std::vector<profile::Fault> opens;
  std::vector<int> circuits;  // indices into CircuitNames
};
// The circuits that together leave apart what the break alone leaves joined: its own, and one of each
// other way. Nothing when no other circuit or wire joins it, or when it takes more than kMostParted.
std::optional<Parting> PartingOf(const profile::Bench& bench, const Break& broken);
inline constexpr std::size_t kMostParted = 4;

// Does one of its wires end at a device?
bool IsAtDevice(const profile::Bench& bench, const Break& broken);
// The devices (triggers first, then sensors, as in harness.h) at the ends of the break's wires, or,
// when there are none, behind the splices there.
std::vector<int> DevicesAt(const profile::Bench& bench, const Break& broken);

// Does it end only in splices, poles of supplies and pins that the controller shares among all it
// measures (supply, grounds, references)? Then any reading may move, in the step of any sensor.
bool IsTrunk(const profile::Bench& bench, const Break& broken);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_BREAKS_H_
