// SPDX-License-Identifier: Apache-2.0
#include "report/svg_plot.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>

namespace drycrank::report {
namespace {

using testing::HasSubstr;
using testing::Not;

// 460 x 200 px. Margins 64 left, 12 right, 36 top, 44 bottom: the frame is x 64..448, y 36..156.
// Time 0..10 s: 38.4 px per second. Values: 90 +- 10 spans 80..100; an eighth more at either end is
// 77.5..102.5, so 25 units take 120 px: 4.8 px each.
Plot SmallCase() {
  Plot plot;
  plot.y_caption = "coolant, °C";
  plot.points = {{0, 90, 90, 10}, {FromSeconds(5), 100, 90, 10}, {FromSeconds(10), 90, 90, 10}};
  plot.worst_ns = FromSeconds(5);
  return plot;
}

TEST(SvgPlot, ValueAtTheBandsEdgeLandsOnTheBandsPixel) {
  // x = 64 + 5 * 38.4 = 256; y of 100 = 156 - 22.5 * 4.8 = 48; of 80 = 156 - 2.5 * 4.8 = 144;
  // of 90 = 156 - 12.5 * 4.8 = 96.
  const std::string svg = SvgPlot(SmallCase()).text();
  EXPECT_THAT(svg, HasSubstr("<path class=\"band\" d=\"M64,48 448,48 448,144 64,144Z\"/>"));
  EXPECT_THAT(svg, HasSubstr("<path class=\"said\" d=\"M64,96 256,48 448,96\"/>"));
  EXPECT_THAT(svg, HasSubstr("<path class=\"wanted\" d=\"M64,96 448,96\"/>"));
}

TEST(SvgPlot, WorstMomentIsARingOnTheReportedLine) {
  const std::string svg = SvgPlot(SmallCase()).text();
  EXPECT_THAT(svg, HasSubstr("<circle class=\"ring\" cx=\"256\" cy=\"48\""));
  EXPECT_THAT(svg, HasSubstr("worst at 5.000 s"));
}

TEST(SvgPlot, WorstMomentOutsideTheStretchIsNotDrawn) {
  Plot plot = SmallCase();
  plot.worst_ns = FromSeconds(11);
  EXPECT_THAT(SvgPlot(plot).text(), Not(HasSubstr("ring")));
}

TEST(SvgPlot, LegendNamesOnlyWhatIsDrawn) {
  EXPECT_THAT(SvgPlot(SmallCase()).text(), HasSubstr(">tolerance<"));
  Plot plot = SmallCase();
  for (auto& p : plot.points) p.tolerance = 0;
  EXPECT_THAT(SvgPlot(plot).text(), Not(HasSubstr("tolerance")));
  plot.draw_wanted = false;
  EXPECT_THAT(SvgPlot(plot).text(), Not(HasSubstr("wanted")));
}

TEST(SvgPlot, LevelsAndNamedTicksAreWritten) {
  Plot plot = SmallCase();
  plot.draw_wanted = false;
  plot.levels = {{95, "must be below"}};
  plot.tick_names = {{90, "warm"}, {500, "far outside"}};
  const std::string svg = SvgPlot(plot).text();
  EXPECT_THAT(svg, HasSubstr(">must be below<"));
  EXPECT_THAT(svg, HasSubstr(">warm<"));
  EXPECT_THAT(svg, Not(HasSubstr("far outside")));
}

TEST(SvgPlot, OnePointAndFlatLinesAreDrawn) {
  Plot plot;
  plot.points = {{FromSeconds(3), 5, 5, 0}};
  plot.worst_ns = FromSeconds(3);
  const std::string svg = SvgPlot(plot).text();
  EXPECT_THAT(svg, HasSubstr("ring"));
  EXPECT_THAT(svg, Not(HasSubstr("nan")));
}

TEST(SvgPlot, NoNumberNoDrawing) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  Plot plot;
  EXPECT_THAT(SvgPlot(plot).text(), HasSubstr("Nothing to draw"));
  plot.points = {{0, nan, 1, 1}};
  EXPECT_THAT(SvgPlot(plot).text(), HasSubstr("Nothing to draw"));
  plot = SmallCase();
  plot.points[1].reported = nan;
  plot.points[2].wanted = nan;
  const std::string svg = SvgPlot(plot).text();
  EXPECT_THAT(svg, Not(HasSubstr("nan")));
  EXPECT_THAT(svg, HasSubstr("<path class=\"wanted\" d=\"M64,96 256,96\"/>"));
}

}  // namespace
}  // namespace drycrank::report
