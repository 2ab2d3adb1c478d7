// SPDX-License-Identifier: Apache-2.0
//
// What a fitter cuts and marks: each wire once, and a label for each of its two ends.
//
//   number     of the wire: its place in the schedule, 1, 2, … Fuses are no wires and have none, and
//              neither has what is on paper only
//   order      as one cuts: by gauge, then colour, then number
//
// A length is that of the schedule: what crimping, a service loop or a twist takes is not added.
#ifndef DRYCRANK_SCHEDULE_CUT_LIST_H_
#define DRYCRANK_SCHEDULE_CUT_LIST_H_

#include <optional>
#include <string>
#include <vector>

#include "schedule/schedule.h"
#include "types/markup.h"

namespace drycrank::schedule {

struct Cut {
  int number = 0;
  std::string circuit, gauge, colour, from, to, twist, notes;
  std::optional<double> length_m;
};
struct CutTotal {  // of one gauge and colour
  std::string gauge, colour;
  int wires = 0;
  double length_m = 0;  // of those whose length is known
  int unknown = 0;
};

struct CutList {
  std::vector<Cut> cuts;
  std::vector<CutTotal> totals;
  int on_paper = 0;  // left out
};
CutList CutListOf(const Schedule& schedule);

// Tables with a line of headings, RFC 4180; lengths in m.
std::string CutsCsv(const CutList& list);
std::string TotalsCsv(const CutList& list);
// Two lines for each wire: at which end, where that end goes, and where the other.
std::string LabelsCsv(const CutList& list);
// All of it on one page, for paper.
Markup CutPage(const CutList& list, const std::string& title);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_CUT_LIST_H_
