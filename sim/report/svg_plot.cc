// SPDX-License-Identifier: Apache-2.0
#include "report/svg_plot.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "report/text.h"

namespace drycrank::report {
namespace {

constexpr double kLeftWithNames = 104;
constexpr double kLeft = 64, kRight = 12, kTop = 36, kBottom = 44;

using check::TracePoint;

bool Finite(const TracePoint& p) { return std::isfinite(p.reported); }
bool HasBand(const TracePoint& p) {
  return std::isfinite(p.wanted) && std::isfinite(p.tolerance) && p.tolerance > 0;
}

struct Extent {
  double low = INFINITY, high = -INFINITY;
  void Take(double value) {
    if (!std::isfinite(value)) return;
    low = std::min(low, value);
    high = std::max(high, value);
  }
};

TimeAxis AxisOf(const Plot& plot) {
  return TimeAxisFor(plot.points.front().t_ns, plot.points.back().t_ns);
}

void DrawGrid(const Plot& plot, const Frame& f, Markup& out) {
  out += SvgText({4, 13}, Anchor::kStart,
                 Shortened(plot.y_caption, static_cast<int>(f.right / 7.5)), "cap");
  const TimeAxis axis = AxisOf(plot);
  const Ticks across = NiceTicks(f.x_low, f.x_high, plot.width > 700 ? 10 : 5);
  for (const double x : across.at) {
    out += SvgSegment({f.X(x), f.top}, {f.X(x), f.bottom}, "grid");
    out += SvgText({f.X(x), f.bottom + 16}, Anchor::kMiddle, Number(x, across.decimals));
  }
  const auto row = [&](double y, const std::string& text) {
    out += SvgSegment({f.left, f.Y(y)}, {f.right, f.Y(y)}, "grid");
    out += SvgText({f.left - 6, f.Y(y) + 4}, Anchor::kEnd, Shortened(text, 13));
  };
  for (const auto& [y, name] : plot.tick_names) {
    if (y >= f.y_low && y <= f.y_high) row(y, name);
  }
  if (plot.tick_names.empty()) {
    const Ticks up = NiceTicks(f.y_low, f.y_high, 5);
    for (const double y : up.at) row(y, Number(y, up.decimals));
  }
  out += SvgText({f.right, f.bottom + 36}, Anchor::kEnd, "time, " + axis.caption, "cap");
}

void DrawBand(const std::vector<TracePoint>& band, const TimeAxis& axis, const Frame& f,
              Markup& out) {
  std::vector<Point> upper, lower;
  for (const TracePoint& p : band) {
    const double x = f.X(axis.Of(p.t_ns));
    upper.push_back({x, f.Y(p.wanted + p.tolerance)});
    lower.push_back({x, f.Y(p.wanted - p.tolerance)});
  }
  if (band.size() == 1) {
    upper.push_back({upper[0].x + 1, upper[0].y});
    lower.push_back({lower[0].x + 1, lower[0].y});
  }
  std::vector<Point> outline = Thin(upper);
  const std::vector<Point> back = Thin(lower);
  outline.insert(outline.end(), back.rbegin(), back.rend());
  out += SvgArea(outline, "band");
}

void DrawBands(const Plot& plot, const Frame& f, Markup& out) {
  std::vector<TracePoint> run;
  for (const TracePoint& p : plot.points) {
    if (HasBand(p)) {
      run.push_back(p);
    } else if (!run.empty()) {
      DrawBand(run, AxisOf(plot), f, out);
      run.clear();
    }
  }
  if (!run.empty()) DrawBand(run, AxisOf(plot), f, out);
}

std::vector<Point> LineOf(const Plot& plot, const Frame& f, double TracePoint::*member) {
  const TimeAxis axis = AxisOf(plot);
  std::vector<Point> points;
  for (const TracePoint& p : plot.points) points.push_back({f.X(axis.Of(p.t_ns)), f.Y(p.*member)});
  return points;
}

void DrawLevels(const Plot& plot, const Frame& f, Markup& out) {
  for (const auto& [value, words] : plot.levels) {
    if (!std::isfinite(value)) continue;
    out += SvgSegment({f.left, f.Y(value)}, {f.right, f.Y(value)}, "level");
    out += SvgText({f.left + 4, f.Y(value) - 4}, Anchor::kStart, words, "cap halo");
  }
}

void DrawWorst(const Plot& plot, const Frame& f, Markup& out) {
  if (!plot.worst_ns) return;
  const TimeNs worst_ns = *plot.worst_ns;
  if (worst_ns < plot.points.front().t_ns || worst_ns > plot.points.back().t_ns) return;
  const TracePoint* nearest = nullptr;
  for (const TracePoint& p : plot.points) {
    if (!Finite(p)) continue;
    if (nearest == nullptr || std::abs(p.t_ns - worst_ns) < std::abs(nearest->t_ns - worst_ns)) {
      nearest = &p;
    }
  }
  const double x = f.X(AxisOf(plot).Of(worst_ns));
  out += SvgSegment({x, f.top}, {x, f.bottom}, "worst");
  out += SvgCircle({x, f.Y(nearest->reported)}, 6, "ring");
  const Anchor anchor = x > f.right - 60  ? Anchor::kEnd
                        : x < f.left + 60 ? Anchor::kStart
                                          : Anchor::kMiddle;
  out += SvgText({x, f.top - 6}, anchor, "worst at " + Seconds(worst_ns), "halo");
}

void DrawLegend(const Plot& plot, const Frame& f, Markup& out) {
  double x = 4;
  const double y = f.bottom + 36;
  const auto entry = [&](const char* css, const char* word, double width) {
    out += SvgSegment({x, y - 4}, {x + 22, y - 4}, css);
    out += SvgText({x + 27, y}, Anchor::kStart, word, "cap");
    x += width;
  };
  entry("said", "reported", 96);
  if (!plot.draw_wanted) return;
  entry("wanted", "wanted", 84);
  if (!std::any_of(plot.points.begin(), plot.points.end(), HasBand)) return;
  out += SvgArea({{x, y - 10}, {x + 22, y - 10}, {x + 22, y + 1}, {x, y + 1}}, "band");
  out += SvgText({x + 27, y}, Anchor::kStart, "tolerance", "cap");
}

}  // namespace

Frame PlotFrame(const Plot& plot) {
  Extent x, y;
  const TimeAxis axis = AxisOf(plot);
  for (const TracePoint& p : plot.points) {
    x.Take(axis.Of(p.t_ns));
    y.Take(p.reported);
    if (!plot.draw_wanted) continue;
    y.Take(p.wanted);
    if (HasBand(p)) y.Take(p.wanted + p.tolerance);
    if (HasBand(p)) y.Take(p.wanted - p.tolerance);
  }
  for (const auto& [value, words] : plot.levels) y.Take(value);
  if (x.high <= x.low) x = {x.low - 0.5, x.low + 0.5};
  // A flat line gets room of its own size; the comparison fails when rounding eats the difference.
  if (!(y.high - y.low > 1e-9 * std::max(std::fabs(y.low), std::fabs(y.high)))) {
    const double half = std::max(0.5, std::fabs(y.low) / 10);
    y = {y.low - half, y.low + half};
  }
  const double spare = (y.high - y.low) / 8;
  return {plot.tick_names.empty() ? kLeft : kLeftWithNames,
          kTop,
          plot.width - kRight,
          plot.height - kBottom,
          x.low,
          x.high,
          y.low - spare,
          y.high + spare};
}

Drawing DrawPlot(const Plot& plot) {
  const Frame f = PlotFrame(plot);
  Markup out;
  if (plot.draw_wanted) DrawBands(plot, f, out);
  DrawGrid(plot, f, out);
  out +=
      SvgArea({{f.left, f.top}, {f.right, f.top}, {f.right, f.bottom}, {f.left, f.bottom}}, "edge");
  if (plot.draw_wanted) out += SvgLine(LineOf(plot, f, &TracePoint::wanted), "wanted");
  DrawLevels(plot, f, out);
  const std::vector<Point> said = LineOf(plot, f, &TracePoint::reported);
  out += SvgLine(plot.stepped ? Stepped(said) : said, "said");
  DrawWorst(plot, f, out);
  DrawLegend(plot, f, out);
  return {plot.width, plot.height, out};
}

Markup SvgPlot(const Plot& plot) {
  if (std::none_of(plot.points.begin(), plot.points.end(), Finite)) {
    return Element("p", {{"class", "empty"}}, "Nothing to draw: no value was seen.");
  }
  return Svg(DrawPlot(plot), plot.width > 700 ? "plot wide" : "plot", plot.description);
}

}  // namespace drycrank::report
