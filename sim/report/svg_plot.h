// SPDX-License-Identifier: Apache-2.0
//
// A quantity over time beside what was wanted of it:
//
//   y_caption
//   | - - - - -:- -  edge of the tolerance band (filled)
//   |    ......:...  wanted (dashed)
//   | __/      o     reported (solid); the worst moment is a ring on a dotted line
//   +--------------- time
//
// The frame keeps fixed margins; the value axis spans everything drawn, and an eighth more at
// either end.
#ifndef DRYCRANK_REPORT_SVG_PLOT_H_
#define DRYCRANK_REPORT_SVG_PLOT_H_

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "check/checker.h"
#include "report/svg.h"
#include "types/time.h"

namespace drycrank::report {

struct Plot {
  double width = 460, height = 200;                    // pixels
  std::string y_caption;                               // "engine_temps.coolant, °C"
  std::string description;                             // for those who cannot see it
  std::vector<check::TracePoint> points;               // in time order
  bool draw_wanted = true;                             // dashed line and band
  bool stepped = false;                                // reported holds its level between points
  std::vector<std::pair<double, std::string>> levels;  // lines across, with their words
  std::vector<std::pair<double, std::string>> tick_names;  // instead of numbers, when not empty
  std::optional<TimeNs> worst_ns;
};

// REQUIRES: at least one point with a finite reported value.
Frame PlotFrame(const Plot& plot);
// A sentence instead of a drawing when there is nothing to draw.
// REQUIRES: a point with a value.
Drawing DrawPlot(const Plot& plot);
// The same as an element of a page; a sentence when there is nothing to draw.
Markup SvgPlot(const Plot& plot);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_SVG_PLOT_H_
