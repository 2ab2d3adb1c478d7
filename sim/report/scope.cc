// SPDX-License-Identifier: Apache-2.0
#include "report/scope.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/text.h"
#include "types/unit.h"

namespace drycrank::report {
namespace {

constexpr double kWidth = 960, kLeft = 190, kRight = 948;
constexpr double kAnalogHeight = 104, kLogicHeight = 46, kRowGap = 12, kLaneHeight = 17;
constexpr double kCharacterWidth = 7.4;  // of the mark's letters, on the wide side
constexpr int kTraceStyles = 4;

using Points = std::vector<std::pair<TimeNs, double>>;

Points ClippedLevels(const Points& points, TimeNs begin_ns, TimeNs end_ns) {
  Points inside;
  for (const auto& [t_ns, level] : points) {
    if (t_ns > end_ns) break;
    if (t_ns <= begin_ns) inside.clear();
    inside.emplace_back(std::max(t_ns, begin_ns), level);
  }
  if (!inside.empty() && inside.back().first < end_ns) {
    inside.emplace_back(end_ns, inside.back().second);
  }
  return inside;
}

double Between(const std::pair<TimeNs, double>& a, const std::pair<TimeNs, double>& b, TimeNs t) {
  const double x = static_cast<double>(t - a.first) / static_cast<double>(b.first - a.first);
  return a.second + (b.second - a.second) * x;
}

Points ClippedLine(const Points& points, TimeNs begin_ns, TimeNs end_ns) {
  Points inside;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const auto& p = points[i];
    const bool crosses_begin = i > 0 && points[i - 1].first < begin_ns && p.first > begin_ns;
    if (crosses_begin) inside.emplace_back(begin_ns, Between(points[i - 1], p, begin_ns));
    if (p.first > end_ns) {
      const bool crosses_end = i > 0 && points[i - 1].first < end_ns;
      if (crosses_end) inside.emplace_back(end_ns, Between(points[i - 1], p, end_ns));
      break;
    }
    if (p.first >= begin_ns) inside.push_back(p);
  }
  return inside;
}

Frame RowFrame(const ScopePicture& picture, const TimeAxis& axis, double top,
               const ScopeChannel& channel, const Points& points) {
  Frame f{kLeft,
          top,
          kRight,
          top + (channel.logic ? kLogicHeight : kAnalogHeight),
          axis.Of(picture.begin_ns),
          axis.Of(picture.end_ns),
          -0.25,
          1.25};
  if (channel.logic) return f;
  double low = INFINITY, high = -INFINITY;
  for (const auto& [t_ns, value] : points) {
    if (!std::isfinite(value)) continue;
    low = std::min(low, value);
    high = std::max(high, value);
  }
  for (const auto& [value, words] : channel.levels) {
    low = std::min(low, value);
    high = std::max(high, value);
  }
  if (!std::isfinite(low)) low = high = 0;
  if (!(high - low > 1e-9 * std::max(std::fabs(low), std::fabs(high)))) {
    low -= 0.5;
    high += 0.5;
  }
  const double spare = (high - low) / 10;
  f.y_low = low - spare;
  f.y_high = high + (channel.levels.empty() ? 1 : 2) * spare;  // room for a level's words
  return f;
}

void DrawScale(const ScopeChannel& channel, const Frame& f, Markup& out) {
  const auto tick = [&](double y, const std::string& text) {
    out += SvgSegment({f.left, f.Y(y)}, {f.right, f.Y(y)}, "grid");
    out += SvgText({f.left - 6, f.Y(y) + 4}, Anchor::kEnd, text);
  };
  if (channel.logic) {
    tick(0, "low");
    tick(1, "high");
    return;
  }
  const Ticks ticks = NiceTicks(f.y_low, f.y_high, 5);
  for (const double y : ticks.at) tick(y, Number(y, ticks.decimals));
}

// Words of a level stand above its line, of the lowest of several below it.
void DrawLevels(const ScopeChannel& channel, const Frame& f, Markup& out) {
  for (std::size_t i = 0; i < channel.levels.size(); ++i) {
    const auto& [value, words] = channel.levels[i];
    const double y = f.Y(value);
    out += SvgSegment({f.left, y}, {f.right, y}, "level");
    out += SvgText({f.left + 4, i == 0 ? y - 4 : y + 13}, Anchor::kStart, words, "cap halo");
  }
}

void DrawName(const ScopeChannel& channel, const Frame& f, Markup& out) {
  const auto lines = Wrap(channel.name, 18);
  double y = f.top + 15;
  for (std::size_t i = 0; i < lines.size() && i < 3; ++i, y += 15) {
    out += SvgText({4, y}, Anchor::kStart, lines[i], "name");
  }
  if (!channel.unit.empty())
    out += SvgText({4, y}, Anchor::kStart, DisplayUnit(channel.unit), "cap");
}

void DrawTrace(const ScopeChannel& channel, const Points& points, const TimeAxis& axis,
               const Frame& f, std::size_t style, Markup& out) {
  std::vector<Point> line;
  for (const auto& [t_ns, value] : points) line.push_back({f.X(axis.Of(t_ns)), f.Y(value)});
  if (channel.logic) line = Stepped(line);
  if (line.empty()) {
    out += SvgText({(f.left + f.right) / 2, (f.top + f.bottom) / 2 + 4}, Anchor::kMiddle,
                   "nothing recorded here", "cap");
    return;
  }
  out += SvgLine(line, fmt::format("trace t{}", style % kTraceStyles));
}

struct PlacedMark {
  double x = 0;
  std::size_t lane = 0;
  std::string text;
};

// Words of marks that stand close together go into lanes above each other.
std::vector<PlacedMark> PlaceMarks(const ScopePicture& picture, const TimeAxis& axis) {
  const Frame f{kLeft, 0, kRight, 1, axis.Of(picture.begin_ns), axis.Of(picture.end_ns), 0, 1};
  auto marks = picture.marks;
  std::stable_sort(marks.begin(), marks.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<double> lane_end;
  std::vector<PlacedMark> placed;
  for (const auto& [t_ns, text] : marks) {
    if (t_ns < picture.begin_ns || t_ns > picture.end_ns) continue;
    const std::string words = Shortened(text, 40);
    const double width = Width(words) * kCharacterWidth;
    const double x = f.X(axis.Of(t_ns));
    const double begin = std::min(x + 4, kRight - width);
    std::size_t lane = 0;
    while (lane < lane_end.size() && lane_end[lane] > begin) ++lane;
    if (lane == lane_end.size()) lane_end.push_back(0);
    lane_end[lane] = begin + width + 8;
    placed.push_back({x, lane, words});
  }
  return placed;
}

void DrawMarks(const std::vector<PlacedMark>& marks, double bottom, Markup& out) {
  for (const PlacedMark& m : marks) {
    const double top = 4 + static_cast<double>(m.lane) * kLaneHeight;
    const double width = Width(m.text) * kCharacterWidth;
    const bool fits = m.x + 4 + width <= kRight;
    out += SvgSegment({m.x, top}, {m.x, bottom}, "worst");
    out += SvgText({fits ? m.x + 4 : m.x - 4, top + 12}, fits ? Anchor::kStart : Anchor::kEnd,
                   m.text, "halo");
  }
}

void DrawTime(const Frame& f, const TimeAxis& axis, Markup& out) {
  const Ticks ticks = NiceTicks(f.x_low, f.x_high, 10);
  for (const double x : ticks.at) {
    out += SvgSegment({f.X(x), f.top}, {f.X(x), f.bottom + 5}, "grid");
    out += SvgText({f.X(x), f.bottom + 19}, Anchor::kMiddle, Number(x, ticks.decimals));
  }
  out += SvgText({kRight, f.bottom + 38}, Anchor::kEnd, "time, " + axis.caption, "cap");
}

}  // namespace

Points Clipped(const ScopeChannel& channel, TimeNs begin_ns, TimeNs end_ns) {
  return channel.logic ? ClippedLevels(channel.points, begin_ns, end_ns)
                       : ClippedLine(channel.points, begin_ns, end_ns);
}

Drawing DrawScope(const ScopePicture& picture) {
  const TimeAxis axis = TimeAxisFor(picture.begin_ns, picture.end_ns);
  const std::vector<PlacedMark> marks = PlaceMarks(picture, axis);
  std::size_t lanes = 0;
  for (const PlacedMark& m : marks) lanes = std::max(lanes, m.lane + 1);
  const double first_top = 10 + static_cast<double>(lanes) * kLaneHeight;

  Markup grid, traces;
  double top = first_top;
  for (std::size_t i = 0; i < picture.channels.size(); ++i) {
    const ScopeChannel& channel = picture.channels[i];
    const auto points = Clipped(channel, picture.begin_ns, picture.end_ns);
    const Frame f = RowFrame(picture, axis, top, channel, points);
    grid += SvgArea({{f.left, f.top}, {f.right, f.top}, {f.right, f.bottom}, {f.left, f.bottom}},
                    "edge");
    DrawScale(channel, f, grid);
    DrawName(channel, f, traces);
    DrawTrace(channel, points, axis, f, i, traces);
    DrawLevels(channel, f, traces);
    top = f.bottom + kRowGap;
  }
  const double bottom = top - kRowGap;
  DrawTime(
      {kLeft, first_top, kRight, bottom, axis.Of(picture.begin_ns), axis.Of(picture.end_ns), 0, 1},
      axis, grid);
  Markup out = grid;
  DrawMarks(marks, bottom, out);
  return {kWidth, bottom + 44, out + traces};
}

Markup SvgScope(const ScopePicture& picture) {
  if (picture.channels.empty() || picture.end_ns <= picture.begin_ns) {
    return Element("p", {{"class", "empty"}}, "Nothing was recorded for this picture.");
  }
  return Svg(DrawScope(picture), "plot wide scope", picture.title);
}

}  // namespace drycrank::report
