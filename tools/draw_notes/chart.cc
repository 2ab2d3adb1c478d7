// SPDX-License-Identifier: Apache-2.0
#include "tools/draw_notes/chart.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/text.h"

namespace drycrank::tools {
namespace {

constexpr double kWidth = 960, kHeight = 340;
constexpr double kTitleHeight = 26, kLineHeight = 16;

// Dark on a light ground of its own, so that it reads on a dark page too.
constexpr const char* kStyle =
    "text{font:13px 'Liberation Sans','DejaVu Sans',sans-serif;fill:#17191c}"
    ".cap{fill:#4a4f55}.name,.title{font-weight:bold}.title{font-size:15px}"
    ".halo{paint-order:stroke;stroke:#fffefa;stroke-width:4px}"
    "path{fill:none;stroke:#17191c}.grid{stroke:#dcd9cf}.edge{stroke:#8b8a84}"
    ".level{stroke-width:1.6;stroke-dasharray:2 4}.worst{stroke:#8f1616;stroke-dasharray:2 3}"
    ".trace{stroke-width:1.8;stroke-linejoin:round}"
    ".t0{stroke:#24496e}.t1{stroke:#7a2b12}.t2{stroke:#17542f}.t3{stroke:#553277}";

}  // namespace

report::Drawing DrawChart(const Chart& chart) {
  const report::Frame f{64,          30,           kWidth - 150, kHeight - 48,
                        chart.x_low, chart.x_high, chart.y_low,  chart.y_high};
  Markup out = report::SvgText({4, 18}, report::Anchor::kStart, chart.y_caption, "cap");
  const report::Ticks across = report::NiceTicks(f.x_low, f.x_high, 10);
  for (const double x : across.at) {
    out += report::SvgSegment({f.X(x), f.top}, {f.X(x), f.bottom}, "grid");
    out += report::SvgText({f.X(x), f.bottom + 18}, report::Anchor::kMiddle,
                           report::Number(x, across.decimals));
  }
  const report::Ticks up = report::NiceTicks(f.y_low, f.y_high, 6);
  for (const double y : up.at) {
    out += report::SvgSegment({f.left, f.Y(y)}, {f.right, f.Y(y)}, "grid");
    out += report::SvgText({f.left - 6, f.Y(y) + 4}, report::Anchor::kEnd,
                           report::Number(y, up.decimals));
  }
  out += report::SvgArea(
      {{f.left, f.top}, {f.right, f.top}, {f.right, f.bottom}, {f.left, f.bottom}}, "edge");
  std::vector<std::pair<double, std::string>> ends;  // y of a curve's end, its words
  for (std::size_t i = 0; i < chart.curves.size(); ++i) {
    std::vector<report::Point> line;
    for (const auto& [x, y] : chart.curves[i].points) line.push_back({f.X(x), f.Y(y)});
    out += report::SvgLine(report::Thin(line), fmt::format("trace t{}", i % 4));
    ends.emplace_back(line.back().y, chart.curves[i].words);
  }
  std::sort(ends.begin(), ends.end());
  double lowest_free = 0;
  for (const auto& [y, words] : ends) {
    lowest_free = std::max(lowest_free, y) + kLineHeight;
    out += report::SvgText({f.right + 6, lowest_free - kLineHeight + 4}, report::Anchor::kStart,
                           words);
  }
  for (const auto& [y, words] : chart.levels) {
    out += report::SvgSegment({f.left, f.Y(y)}, {f.right, f.Y(y)}, "level");
    out += report::SvgText({f.right + 6, f.Y(y) + 4}, report::Anchor::kStart, words, "cap");
  }
  out += report::SvgText({f.right, f.bottom + 38}, report::Anchor::kEnd, chart.x_caption, "cap");
  return {kWidth, kHeight, out};
}

std::string StandAlone(const report::Drawing& drawing, const std::string& title,
                       std::string_view more_style) {
  const std::string width = report::Px(drawing.width);
  const std::string height = report::Px(drawing.height + kTitleHeight);
  const Markup paper = EmptyElement(
      "rect",
      {{"x", 0}, {"y", -kTitleHeight}, {"width", width}, {"height", height}, {"fill", "#fffefa"}});
  const Markup title_line = report::SvgText({4, -8}, report::Anchor::kStart, title, "title");
  return Element("svg",
                 {{"xmlns", "http://www.w3.org/2000/svg"},
                  {"viewBox", fmt::format("0 {:g} {} {}", -kTitleHeight, width, height)},
                  {"width", width},
                  {"height", height},
                  {"role", "img"},
                  {"aria-label", title}},
                 "\n" +
                     Element("style", Markup::Raw(std::string(kStyle) + std::string(more_style))) +
                     "\n" + paper + "\n" + title_line + "\n" + drawing.content)
             .text() +
         "\n";
}

}  // namespace drycrank::tools
