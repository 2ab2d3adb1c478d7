// SPDX-License-Identifier: Apache-2.0
//
// Two states of a schedule: what changed, and which circuits must be proven again.
//
//   proven again    circuits of wires that were added, moved or changed; circuits with a wire at a
//                   splice or pin where a hand has been; and circuits that carry the new current to
//                   and from the supply (on the way with fewest wires, fuses and relays included)
//
// A fuse that is put into a box moves no hand at the box's other pins. A circuit that was only
// renamed is said, and proven no less.
#ifndef DRYCRANK_SCHEDULE_SCHEDULE_DIFF_H_
#define DRYCRANK_SCHEDULE_SCHEDULE_DIFF_H_

#include <string>
#include <vector>

#include "schedule/schedule.h"

namespace drycrank::schedule {

struct ScheduleDiff {
  struct Again {
    std::string circuit, why;
  };
  int added = 0, removed = 0, changed = 0;  // wires, fuses and relays
  std::vector<std::string> lines;           // one a change, "+ fan_feed: ..."
  std::vector<Again> again;                 // in the order of the new schedule
  std::size_t circuits = 0;                 // of the new schedule
};

// `bench`: of the new schedule, for its supplies and relays; null where there is only the list, and
// then nothing is said of who carries the current.
ScheduleDiff DiffSchedules(const Schedule& before, const Schedule& after,
                           const profile::Bench* bench);

std::string DiffText(const ScheduleDiff& diff);
std::string DiffJson(const ScheduleDiff& diff);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_SCHEDULE_DIFF_H_
