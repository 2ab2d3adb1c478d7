// SPDX-License-Identifier: Apache-2.0
//
// A drawing on its own as an SVG file, and a chart of y over x for curves that have no time axis.
#ifndef DRYCRANK_TOOLS_DRAW_NOTES_CHART_H_
#define DRYCRANK_TOOLS_DRAW_NOTES_CHART_H_

#include <string>
#include <utility>
#include <vector>

#include "report/svg.h"

namespace drycrank::tools {

struct Curve {
  std::string words;  // beside its end
  std::vector<std::pair<double, double>> points;
};

struct Chart {
  std::string title, x_caption, y_caption;
  double x_low = 0, x_high = 1, y_low = 0, y_high = 1;
  std::vector<Curve> curves;
  std::vector<std::pair<double, std::string>> levels;  // lines across
};

report::Drawing DrawChart(const Chart& chart);

// A file's content: the drawing with name space, colours (and `more_style`), and a title line above.
std::string StandAlone(const report::Drawing& drawing, const std::string& title,
                       std::string_view more_style = {});

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DRAW_NOTES_CHART_H_
