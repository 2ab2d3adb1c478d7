// SPDX-License-Identifier: Apache-2.0
//
// Parts of a drawing as SVG: ticks, the frame that maps data to pixels, lines, words. No
// script, no reference to anything outside. Pixels go right and down; data go right and up:
//   x_px = left + (x - x_low) / (x_high - x_low) * (right - left)
//   y_px = bottom - (y - y_low) / (y_high - y_low) * (bottom - top)
#ifndef DRYCRANK_REPORT_SVG_H_
#define DRYCRANK_REPORT_SVG_H_

#include <string>
#include <string_view>
#include <vector>

#include "types/markup.h"
#include "types/time.h"

namespace drycrank::report {

struct Point {
  double x = 0, y = 0;
};

// REQUIRES: x_low < x_high, y_low < y_high.
struct Frame {
  double left = 0, top = 0, right = 1, bottom = 1;      // pixels
  double x_low = 0, x_high = 1, y_low = 0, y_high = 1;  // data

  double X(double x) const { return left + (x - x_low) / (x_high - x_low) * (right - left); }
  double Y(double y) const { return bottom - (y - y_low) / (y_high - y_low) * (bottom - top); }
};

// Multiples of 1, 2 or 5 times a power of ten within [low, high]: as many as fit, at most `most`.
struct Ticks {
  double step = 1;
  int decimals = 0;  // that tell two ticks apart
  std::vector<double> at;
};
Ticks NiceTicks(double low, double high, int most);

// Where a stretch of time is drawn: in s, or, when it is short, in ms or us after its begin.
struct TimeAxis {
  TimeNs base_ns = 0;
  TimeNs unit_ns = kNsPerS;
  std::string caption;  // "ms after 12.345 s"

  double Of(TimeNs t_ns) const {
    return static_cast<double>(t_ns - base_ns) / static_cast<double>(unit_ns);
  }
};
TimeAxis TimeAxisFor(TimeNs begin_ns, TimeNs end_ns);

// Points in pixels, ascending in x. At most four are kept per half pixel (first, lowest, highest,
// last), and none that lies on the straight line between its neighbours.
std::vector<Point> Thin(const std::vector<Point>& points);

// The same level until the next point: inserts the corners.
std::vector<Point> Stepped(const std::vector<Point>& points);

// "12.3", "12": a tenth of a pixel is all that can be seen. REQUIRES: finite.
std::string Px(double px);

// A broken line through points in pixels. Points that are not finite break it.
Markup SvgLine(const std::vector<Point>& points, std::string_view css);
// A closed area. REQUIRES: all finite.
Markup SvgArea(const std::vector<Point>& points, std::string_view css);
Markup SvgSegment(Point from, Point to, std::string_view css);

Markup SvgCircle(Point centre, double radius, std::string_view css);

enum class Anchor { kStart, kMiddle, kEnd };
Markup SvgText(Point at, Anchor anchor, std::string_view text, std::string_view css = {});

struct Drawing {
  double width = 0, height = 0;
  Markup content;
};
// With a description for those who cannot see the drawing.
Markup Svg(const Drawing& drawing, std::string_view css, std::string_view description);

// At most `width` columns of `text`, the rest as "…".
std::string Shortened(std::string_view text, int width);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_SVG_H_
