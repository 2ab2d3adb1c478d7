// SPDX-License-Identifier: Apache-2.0
#include "report/svg.h"

#include <algorithm>
#include <cmath>

#include "report/text.h"

namespace drycrank::report {
namespace {

bool Finite(const Point& p) { return std::isfinite(p.x) && std::isfinite(p.y); }

// First, lowest, highest and last point of each half pixel.
std::vector<Point> PerColumn(const std::vector<Point>& points) {
  std::vector<Point> kept;
  for (std::size_t begin = 0; begin < points.size();) {
    const double column = std::floor(points[begin].x * 2);
    std::size_t end = begin + 1;
    while (end < points.size() && std::floor(points[end].x * 2) == column) ++end;
    std::size_t keep[4] = {begin, begin, begin, end - 1};
    for (std::size_t i = begin; i < end; ++i) {
      if (points[i].y < points[keep[1]].y) keep[1] = i;
      if (points[i].y > points[keep[2]].y) keep[2] = i;
    }
    std::sort(std::begin(keep), std::end(keep));
    std::size_t last = points.size();
    for (const std::size_t i : keep) {
      if (i != last) kept.push_back(points[i]);
      last = i;
    }
    begin = end;
  }
  return kept;
}

// Whether every point in (from, to) lies within a twentieth of a pixel of the straight line.
bool Straight(const std::vector<Point>& p, std::size_t from, std::size_t to) {
  const double dx = p[to].x - p[from].x;
  const double dy = p[to].y - p[from].y;
  const double length = std::hypot(dx, dy);
  for (std::size_t i = from + 1; i < to; ++i) {
    const double across = (p[i].x - p[from].x) * dy - (p[i].y - p[from].y) * dx;
    const double along = (p[i].x - p[from].x) * dx + (p[i].y - p[from].y) * dy;
    if (std::fabs(across) > 0.05 * length || along < 0 || along > length * length) return false;
  }
  return true;
}

std::string PathData(const std::vector<Point>& points) {
  std::string data;
  for (const Point& p : points) {
    data += data.empty() ? 'M' : ' ';
    data += Px(p.x) + "," + Px(p.y);
  }
  return data;
}

const char* Name(Anchor anchor) {
  return anchor == Anchor::kStart ? "start" : anchor == Anchor::kEnd ? "end" : "middle";
}

}  // namespace

Ticks NiceTicks(double low, double high, int most) {
  Ticks ticks;
  if (!(low < high) || !std::isfinite(high - low)) return ticks;
  const double rough = (high - low) / std::max(1, most);
  int power = static_cast<int>(std::floor(std::log10(rough)));
  const auto count = [&](double step) {
    return std::floor(high / step + 1e-9) - std::ceil(low / step - 1e-9) + 1;
  };
  for (bool found = false; !found; ++power) {
    for (const double digit : {1.0, 2.0, 5.0}) {
      ticks.step = digit * std::pow(10.0, power);
      ticks.decimals = std::max(0, -power);
      found = count(ticks.step) <= most;
      if (found) break;
    }
  }
  const double first = std::ceil(low / ticks.step - 1e-9);
  for (double k = first; k * ticks.step <= high + 1e-9 * ticks.step; k += 1) {
    ticks.at.push_back(k * ticks.step);
  }
  return ticks;
}

TimeAxis TimeAxisFor(TimeNs begin_ns, TimeNs end_ns) {
  const TimeNs span_ns = end_ns - begin_ns;
  if (span_ns >= kNsPerS) return {0, kNsPerS, "s"};
  const bool is_ms = span_ns >= 2 * kNsPerMs;
  const TimeNs unit_ns = is_ms ? kNsPerMs : kNsPerUs;
  // The base is a whole number of units, so that its printed form is exact.
  const TimeNs base_ns = begin_ns - ((begin_ns % unit_ns) + unit_ns) % unit_ns;
  return {base_ns, unit_ns,
          std::string(is_ms ? "ms" : "µs") + " after " + Number(ToSeconds(base_ns), is_ms ? 3 : 6) +
              " s"};
}

std::vector<Point> Thin(const std::vector<Point>& points) {
  const std::vector<Point> column = PerColumn(points);
  std::vector<Point> kept;
  for (std::size_t from = 0; from < column.size();) {
    kept.push_back(column[from]);
    std::size_t to = from + 1;
    // Looks ahead at most 300 points: a longer straight line only costs one more point.
    while (to + 1 < column.size() && to - from < 300 && Straight(column, from, to + 1)) ++to;
    from = to;
  }
  return kept;
}

std::vector<Point> Stepped(const std::vector<Point>& points) {
  std::vector<Point> corners;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (i > 0 && points[i].y != points[i - 1].y) corners.push_back({points[i].x, points[i - 1].y});
    corners.push_back(points[i]);
  }
  return corners;
}

std::string Px(double px) {
  std::string text = Number(px, 1);
  if (text.ends_with(".0")) text.resize(text.size() - 2);
  return text;
}

Markup SvgLine(const std::vector<Point>& points, std::string_view css) {
  std::string data;
  std::vector<Point> run;
  const auto flush = [&] {
    if (run.size() == 1) run.push_back({run[0].x + 0.5, run[0].y});  // a dot, not nothing
    if (!run.empty()) data += PathData(Thin(run));
    run.clear();
  };
  for (const Point& p : points) {
    if (Finite(p)) {
      run.push_back(p);
    } else {
      flush();
    }
  }
  flush();
  if (data.empty()) return {};
  return EmptyElement("path", {{"class", css}, {"d", data}});
}

Markup SvgArea(const std::vector<Point>& points, std::string_view css) {
  return EmptyElement("path", {{"class", css}, {"d", PathData(points) + "Z"}});
}

Markup SvgSegment(Point from, Point to, std::string_view css) {
  return EmptyElement("path", {{"class", css}, {"d", PathData({from, to})}});
}

Markup SvgCircle(Point centre, double radius, std::string_view css) {
  return EmptyElement("circle",
                      {{"class", css}, {"cx", Px(centre.x)}, {"cy", Px(centre.y)}, {"r", radius}});
}

Markup SvgText(Point at, Anchor anchor, std::string_view text, std::string_view css) {
  return Element(
      "text",
      {{"x", Px(at.x)}, {"y", Px(at.y)}, {"text-anchor", Name(anchor)}, IfAny("class", css)}, text);
}

Markup Svg(const Drawing& drawing, std::string_view css, std::string_view description) {
  return Element("svg",
                 {{"class", css},
                  {"viewBox", "0 0 " + Px(drawing.width) + " " + Px(drawing.height)},
                  {"role", "img"},
                  {"aria-label", description}},
                 drawing.content);
}

std::string Shortened(std::string_view text, int width) {
  if (Width(text) <= width) return std::string(text);
  return Wrap(PlainLine(text), width - 1).front() + "…";
}

}  // namespace drycrank::report
