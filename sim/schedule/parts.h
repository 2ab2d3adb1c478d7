// SPDX-License-Identifier: Apache-2.0
//
// What a list of wires says of the parts between them:
//
//   fuse            the column `fuse` of a line: "10 A", "F3 10A". It sits in the box at the line's
//                   end, behind the pin of that line and the one that feeds the box: the only pin
//                   there without a fuse, or the one called 30, IN, FEED, BAT, B
//   relay           a plug with the pins 30, 85, 86 and 87, and perhaps 87a (DIN 72552: terminal
//                   markings)
//   in-line plug    a plug in which most pins have two wires
//
// What was taken for what is noted; what is missing is a problem. No wire is made up.
#ifndef DRYCRANK_SCHEDULE_PARTS_H_
#define DRYCRANK_SCHEDULE_PARTS_H_

#include <string>

#include "schedule/cells.h"
#include "schedule/import.h"

namespace drycrank::schedule {

// "F3 10A" to name and rating; the name may be missing.
struct FuseCell {
  std::string name;
  double rating_a = 0;
};
Read<FuseCell> ReadFuse(const std::string& text);

// Finds them in what has been read of the lines.
void FindParts(Imported& imported);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_PARTS_H_
