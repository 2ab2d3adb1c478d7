// SPDX-License-Identifier: Apache-2.0
//
// A bench's harness as drawings: values in, SVG out. What is marked is drawn in front of a
// yellow band and with a pointer, all else pale, so that a report can show the wire it suspects.
// The colour of a wire never stands alone: its name is written beside.
//
//   devices' plugs at the left, the controller's at the right, one row per wire between them; a
//   splice is an upright bar with a dot where a wire meets it:
//
//     CLT 1 o--- coolant_signal 0.5 mm2 1.7 m green ------------o ECU 20
//         2 o--- coolant_ground 0.5 mm2 0.5 m brown --*         |
//                                               S_GND *---------o ECU 3
#ifndef DRYCRANK_SCHEDULE_DRAW_H_
#define DRYCRANK_SCHEDULE_DRAW_H_

#include <set>
#include <string>

#include "profile/bench.h"
#include "types/markup.h"

namespace drycrank::schedule {

// What is drawn marked: wires of a circuit, or with an end that is a terminal or splice. The faces
// mark terminals, and pins whose wire is marked.
struct Marks {
  std::set<std::string> circuits;
  std::set<std::string> ends;

  bool any() const { return !circuits.empty() || !ends.empty(); }
  bool Has(const profile::Wire& wire) const {
    return circuits.contains(wire.circuit) || ends.contains(wire.from) || ends.contains(wire.to);
  }
};

Markup HarnessSvg(const profile::Bench& bench, const Marks& marks = {});

// The face of one connector, from the mating side and from the wire side, and what its pins carry.
// Pins fill `rows` row by row, from the top left of the mating side. Not to scale.
// REQUIRES: the bench has the connector.
Markup FaceSvg(const profile::Bench& bench, const profile::Connector& connector,
               const Marks& marks = {});

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_DRAW_H_
