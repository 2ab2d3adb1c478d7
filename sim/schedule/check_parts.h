// SPDX-License-Identifier: Apache-2.0
//
// The parts of a check, in the order in which they look: each may leave out what only follows from
// what an earlier one has found. Internal to schedule/.
#ifndef DRYCRANK_SCHEDULE_CHECK_PARTS_H_
#define DRYCRANK_SCHEDULE_CHECK_PARTS_H_

#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "schedule/check.h"
#include "schedule/nets.h"
#include "types/nth.h"

namespace drycrank::schedule {

struct Check {
  explicit Check(const CheckInput& input)
      : in(input), schedule(*input.schedule), nets(*input.schedule, input.bench) {}

  const CheckInput& in;
  const Schedule& schedule;
  const Nets nets;
  CheckResult result;
  // Where a mistake of the list may have its consequences: nets, and connectors of whose terminals
  // one without a wire may be the mistaken one's.
  std::set<int> doubtful_nets;
  std::set<std::string> doubtful_plugs;
  std::set<int> broken_nets;                       // no current is worked out through them
  std::set<std::string> told_circuits, told_ends;  // of the errors so far

  const ScheduleWire& Wire(int index) const { return Nth(schedule.wires, index); }

  void Add(FindingKind kind, Place place, std::string what, std::string remedy,
           const std::vector<int>& wires, std::vector<std::string> ends);
  // As Add, about the devices' ends `all`, told at `end`; where that follows from an earlier
  // mistake it is counted instead.
  void Say(FindingKind kind, const std::string& end, const Place& otherwise, std::string what,
           std::string remedy, const std::vector<std::string>& all);
  std::vector<int> WiresAt(const std::vector<std::string>& ends) const;
  bool IsBroken(const std::string& end) const { return broken_nets.contains(nets.Of(end)); }
  // The first wire at the end, else `otherwise`.
  Place PlaceAt(const std::string& end, const Place& otherwise) const;
  // A plug between two pieces of harness: by the bench, else by the list.
  bool IsInLine(std::string_view plug) const;
  void Doubt(const std::string& end);
  // What is found at this end may follow from a mistake of the list.
  bool Follows(const std::string& end) const;
};

void CheckList(Check& check);      // the list alone
void CheckPairs(Check& check);     // twisted pairs and buses
void CheckSources(Check& check);   // REQUIRES: in.bench
void CheckDevices(Check& check);   // REQUIRES: in.bench
void CheckCurrents(Check& check);  // REQUIRES: in.bench
void CheckFuses(Check& check);     // REQUIRES: in.bench
void CheckGrounds(Check& check);   // REQUIRES: in.bench
void CheckProof(Check& check);     // REQUIRES: in.bench

// The bench with the schedule, without the broken nets' wires.
profile::Bench SoundBench(const Check& check);
// The wire as that bench has it; null: it has not.
const profile::Wire* Made(const profile::Bench& sound, const ScheduleWire& wire);

// "circuit coolant_ground (CLT.2 to S_GND)"
std::string Title(const ScheduleWire& wire);
std::string Listed(std::vector<std::string> parts);  // "a, b and c", at most eight

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_CHECK_PARTS_H_
