// SPDX-License-Identifier: Apache-2.0
#include "report/cycle_scope.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "report/html_parts.h"
#include "report/text.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

constexpr double kWidth = 960, kLeft = 176, kRight = 944;
constexpr double kTopWords = 22, kVoltHeight = 92, kStripHeight = 26, kLine = 15, kGap = 14;
constexpr std::size_t kFewEdges = 24;  // with words at each
constexpr int kEachTooth = 10;         // numbered, of many
constexpr std::ptrdiff_t kFewRings = 8;
constexpr double kCharacterWidth = 7.4;
constexpr double kNearSpark = 30;  // pixels: it is that one, early or late

// Draws from the top down; `top` is where the next part begins.
class CyclePage {
 public:
  explicit CyclePage(const CyclePicture& picture) : picture_(picture), top_(kTopWords) {}

  Drawing Draw() {
    for (const CycleRow& row : picture_.rows) AddRow(row);
    if (picture_.advance_deg || HasSparks(false)) AddSparks("sparks", false, picture_.advance_deg);
    if (picture_.trailing_deg || HasSparks(true)) AddSparks("trailing", true, TrailingDueDeg());
    AddInjections();
    if (!picture_.states.empty()) AddStates();
    Markup back;
    AddTops(back);
    AddAxis(back);
    AddLegend();
    const double height = top_ + 64;
    return {kWidth, height, OverDegrees(back + over_degrees_, height) + out_};
  }

 private:
  double X(double deg) const { return kLeft + deg / picture_.cycle_deg * (kRight - kLeft); }

  // What the script stretches and moves; enlarged it ends where the frames do.
  static Markup OverDegrees(const Markup& content, double height) {
    const std::string width = Px(kRight - kLeft), high = Px(height);
    return Element("svg",
                   {{"class", "degrees"},
                    {"x", Px(kLeft)},
                    {"y", "0"},
                    {"width", width},
                    {"height", high},
                    {"viewBox", fmt::format("{} 0 {} {}", Px(kLeft), width, high)},
                    {"overflow", "visible"}},
                   content);
  }

  void AddTops(Markup& back) const {
    for (const auto& [deg, cylinder] : picture_.tops) {
      back += SvgSegment({X(deg), kTopWords - 4}, {X(deg), top_}, "top");
      const Anchor anchor = deg == 0 ? Anchor::kStart : Anchor::kMiddle;
      back += SvgText({X(deg), 13}, anchor, fmt::format("top {}", cylinder), "cap");
    }
  }
  void AddAxis(Markup& back) {
    for (double deg = 0; deg <= picture_.cycle_deg; deg += 90) {
      back += SvgSegment({X(deg), top_}, {X(deg), top_ + 5}, "edge");
      back +=
          SvgText({X(deg), top_ + 19}, deg < picture_.cycle_deg ? Anchor::kMiddle : Anchor::kEnd,
                  fmt::format("{:g}°", deg));
    }
    out_ += SvgText({kRight, top_ + 36}, Anchor::kEnd,
                    "degrees of crank after cylinder 1's firing top dead centre", "cap");
  }
  void AddLegend() {
    const double y = top_ + 58;
    double x = 4;
    const auto says = [&](const char* words) {
      out_ += SvgText({x, y}, Anchor::kStart, words, "cap");
      x += Width(words) * kCharacterWidth + 20;
    };
    const auto line = [&](const char* css, const char* words) {
      out_ += SvgSegment({x, y - 4}, {x + 30, y - 4}, css);
      x += 36;
      says(words);
    };
    line("wanted", "should be (shaded: high)");
    line("said", "seen by the controller");
    out_ += SvgCircle({x + 6, y - 4}, 6, "ring");
    x += 18;
    says("missing or too many");
    line("level", "switching level");
  }
  void AddName(double top, const std::string& name, const std::string& words) {
    double y = top + 13;
    for (const std::string& line : Wrap(name, 23)) {
      out_ += SvgText({4, y}, Anchor::kStart, line, "name");
      y += kLine;
    }
    for (const std::string& line : Wrap(words, 24)) {
      out_ += SvgText({4, y}, Anchor::kStart, line, "cap");
      y += kLine;
    }
  }

  void AddRow(const CycleRow& row) {
    AddName(top_, row.name, row.words);
    AddVolts(row);
    top_ += kVoltHeight + 4;
    if (!row.due.empty() || !row.seen.empty()) AddStrip(row);
    top_ += kGap;
    AddGap(row);
  }

  Frame VoltFrame(const CycleRow& row) const {
    double low = 0, high = 1;
    for (const auto& [deg, volts] : row.volts) {
      low = std::min(low, volts);
      high = std::max(high, volts);
    }
    for (const auto& [volts, words] : row.levels) high = std::max(high, volts);
    const double spare = (high - low) / 10;
    return {kLeft,       top_,        kRight, top_ + kVoltHeight, 0, picture_.cycle_deg,
            low - spare, high + spare};
  }
  void AddFrame(const Frame& f) {
    out_ += SvgArea({{f.left, f.top}, {f.right, f.top}, {f.right, f.bottom}, {f.left, f.bottom}},
                    "edge");
  }
  void AddVolts(const CycleRow& row) {
    const Frame f = VoltFrame(row);
    AddFrame(f);
    const Ticks ticks = NiceTicks(f.y_low, f.y_high, 4);
    for (const double volts : ticks.at) {
      out_ += SvgText({f.left - 6, f.Y(volts) + 4}, Anchor::kEnd,
                      fmt::format("{} V", Number(volts, ticks.decimals)));
    }
    for (const auto& [volts, words] : row.levels) {
      out_ += SvgSegment({f.left, f.Y(volts)}, {f.right, f.Y(volts)}, "level");
    }
    std::vector<Point> line;
    for (const auto& [deg, volts] : row.volts) line.push_back({X(deg), f.Y(volts)});
    if (line.empty()) {
      out_ += SvgText({(f.left + f.right) / 2, f.top + 40}, Anchor::kMiddle, "no voltage", "cap");
    } else {
      over_degrees_ += SvgLine(Thin(line), "trace t0");
    }
  }

  // What the input made of it on what is due, then the words at the edges.
  void AddStrip(const CycleRow& row) {
    if (row.coil) {
      AddTicks(row);
    } else {
      AddLevels(row);
    }
    top_ += kStripHeight;
    AddEdgeWords(row);
  }
  void AddTicks(const CycleRow& row) {
    for (const CycleDue& due : row.due) {
      over_degrees_ +=
          SvgSegment({X(due.deg), top_}, {X(due.deg), top_ + kStripHeight / 2}, "wanted");
      if (!due.off_deg) continue;
      const double x = X(WrapDeg(due.deg + *due.off_deg, picture_.cycle_deg));
      over_degrees_ += SvgSegment({x, top_ + kStripHeight / 2}, {x, top_ + kStripHeight}, "said");
    }
    for (const double deg : row.extra_deg) {
      over_degrees_ +=
          SvgSegment({X(deg), top_ + kStripHeight / 2}, {X(deg), top_ + kStripHeight}, "worst");
    }
  }
  // As corners from 0 degrees on; the level at 0 is that of the last edge, from the cycle before.
  std::vector<Point> Corners(const std::vector<std::pair<double, bool>>& edges) const {
    const auto y = [&](bool high) { return top_ + (high ? 3 : kStripHeight - 3); };
    std::vector<Point> line;
    bool high = edges.empty() || edges.back().second;
    line.push_back({kLeft, y(high)});
    for (const auto& [deg, level] : edges) {
      line.push_back({X(deg), y(high)});
      line.push_back({X(deg), y(level)});
      high = level;
    }
    line.push_back({kRight, y(high)});
    return line;
  }
  void AddLevels(const CycleRow& row) {
    std::vector<std::pair<double, bool>> due;
    for (const CycleDue& edge : row.due) due.emplace_back(edge.deg, edge.high);
    std::vector<Point> area = Corners(due);
    area.push_back({kRight, top_ + kStripHeight});
    area.push_back({kLeft, top_ + kStripHeight});
    if (!due.empty()) over_degrees_ += SvgArea(area, "band");
    if (!row.seen.empty()) over_degrees_ += SvgLine(Corners(row.seen), "said");
  }
  static std::ptrdiff_t Missing(const CycleRow& row) {
    return std::ranges::count_if(row.due, [](const CycleDue& due) { return !due.off_deg; });
  }
  void AddEdgeWords(const CycleRow& row) {
    const bool few = row.due.size() + row.extra_deg.size() <= kFewEdges;
    const bool ringed = std::ssize(row.extra_deg) + Missing(row) <= kFewRings;
    for (const CycleDue& due : row.due) {
      if (!due.off_deg && ringed) {
        AddRing(due.deg);
        if (row.coil || due.begin) AddTooth(due, row.coil ? "{}" : "tooth {}", "name halo");
      } else if (few && due.begin) {
        AddTooth(due, "tooth {}", "cap");
      } else if (!few && IsNumbered(due, row.coil)) {
        AddTooth(due, "{}", "cap");
      }
      if (few && due.off_deg && std::abs(*due.off_deg) >= 0.05) AddOff(due);
    }
    for (const double deg : row.extra_deg) {
      if (ringed) AddRing(deg);
    }
    top_ += few ? 2 * kLine + 4 : kLine + 2;
  }
  static bool IsNumbered(const CycleDue& due, bool coil) {
    return (due.tooth == 1 || due.tooth % kEachTooth == 0) && (due.begin || coil);
  }
  void AddRing(double deg) {
    over_degrees_ += SvgCircle({X(deg), top_ - kStripHeight / 2}, 6, "ring");
  }
  void AddTooth(const CycleDue& due, const char* words, const char* css) {
    const std::string text = fmt::format(fmt::runtime(words), due.tooth);
    const bool at_end = X(due.deg) + Width(text) * kCharacterWidth / 2 > kRight + 12;
    over_degrees_ +=
        SvgText({X(due.deg), top_ + 12}, at_end ? Anchor::kEnd : Anchor::kMiddle, text, css);
  }
  void AddOff(const CycleDue& due) {
    const double x = X(WrapDeg(due.deg + *due.off_deg, picture_.cycle_deg));
    over_degrees_ += SvgText({x, top_ + 12 + kLine}, Anchor::kMiddle,
                             fmt::format("{:+.1f}°", *due.off_deg), "halo");
  }

  // The first stretch of more than one and a half pitches without an edge due, and some teeth
  // before and behind; nothing on an even wheel.
  static std::optional<std::pair<double, double>> GapOf(const CycleRow& row) {
    constexpr std::size_t kTeeth = 4;
    for (std::size_t i = kTeeth; i + kTeeth < row.due.size(); ++i) {
      const double pitch = row.due[i].deg - row.due[i - 1].deg;
      if (row.due[i + 1].deg - row.due[i].deg < 1.5 * pitch) continue;
      return std::pair(row.due[i + 1 - kTeeth].deg, row.due[i + kTeeth].deg);
    }
    return std::nullopt;
  }
  // Here it can be seen which way a coil goes out of its gap.
  void AddGap(const CycleRow& row) {
    const auto gap = GapOf(row);
    if (!row.coil || !gap || row.volts.empty()) return;
    AddName(top_, "around its gap", "");
    const double bottom = top_ + kVoltHeight + 48;  // the cycle's degrees mean nothing here
    out_ += SvgArea({{kLeft, top_}, {kRight, top_}, {kRight, bottom}, {kLeft, bottom}}, "blank");
    Frame f = VoltFrame(row);
    f.x_low = gap->first, f.x_high = gap->second;
    AddFrame(f);
    std::vector<Point> line;
    for (const auto& [deg, volts] : row.volts) {
      if (deg >= f.x_low && deg <= f.x_high) line.push_back({f.X(deg), f.Y(volts)});
    }
    out_ += SvgLine(line, "trace t0");
    top_ += kVoltHeight + 4;
    for (const CycleDue& due : row.due) {
      if (due.deg < f.x_low || due.deg > f.x_high) continue;
      out_ += SvgSegment({f.X(due.deg), top_}, {f.X(due.deg), top_ + 13}, "wanted");
      out_ += SvgText({f.X(due.deg), top_ + 40}, Anchor::kMiddle, std::to_string(due.tooth), "cap");
    }
    for (const double deg : SeenCrossings(row)) {
      if (deg < f.x_low || deg > f.x_high) continue;
      out_ += SvgSegment({f.X(deg), top_ + 13}, {f.X(deg), top_ + 26}, "said");
    }
    top_ += 40 + kGap;
  }
  std::vector<double> SeenCrossings(const CycleRow& row) const {
    std::vector<double> seen = row.extra_deg;
    for (const CycleDue& due : row.due) {
      if (due.off_deg) seen.push_back(WrapDeg(due.deg + *due.off_deg, picture_.cycle_deg));
    }
    return seen;
  }

  bool HasSparks(bool trailing) const {
    return std::ranges::any_of(picture_.sparks,
                               [&](const CycleSpark& spark) { return spark.trailing == trailing; });
  }
  // Before top dead centre.
  std::optional<double> TrailingDueDeg() const {
    if (!picture_.advance_deg || !picture_.trailing_deg) return std::nullopt;
    return *picture_.advance_deg - *picture_.trailing_deg;
  }
  void AddSparks(const char* name, bool trailing, std::optional<double> due_deg) {
    AddName(top_, name, HasSparks(trailing) ? "degrees before top" : "none");
    for (const auto& [deg, cylinder] : picture_.tops) {
      if (!due_deg) continue;
      const double x = X(WrapDeg(deg - *due_deg, picture_.cycle_deg));
      over_degrees_ += SvgSegment({x, top_ - 6}, {x, top_ + 34}, "wanted");
      if (HasSparkAt(x, cylinder, trailing)) continue;
      over_degrees_ +=
          SvgText({x, top_ + 47}, Anchor::kMiddle, fmt::format("{} due", cylinder), "cap");
    }
    for (const CycleSpark& spark : picture_.sparks) {
      if (spark.trailing != trailing) continue;
      const double x = X(spark.deg);
      over_degrees_ += SvgSegment({x, top_}, {x, top_ + 34}, "said");
      const bool fits = x + 60 < kRight;
      const Anchor anchor = fits ? Anchor::kStart : Anchor::kEnd;
      const double at = fits ? x + 4 : x - 4;
      over_degrees_ +=
          SvgText({at, top_ + 13}, anchor, fmt::format("cyl {}", spark.cylinder), "name halo");
      over_degrees_ +=
          SvgText({at, top_ + 29}, anchor, fmt::format("{:.1f}°", spark.before_deg), "halo");
    }
    top_ += 34 + kLine + kGap;
  }
  bool HasSparkAt(double x, int cylinder, bool trailing) const {
    return std::ranges::any_of(picture_.sparks, [&](const CycleSpark& spark) {
      return spark.cylinder == cylinder && spark.trailing == trailing &&
             std::abs(X(spark.deg) - x) < kNearSpark;
    });
  }
  void AddInjections() {
    AddName(top_ - 4, "injection", picture_.injections.empty() ? "none" : "");
    for (const CycleInjection& one : picture_.injections) {
      const double x = X(one.begin_deg);
      if (one.end_deg >= one.begin_deg)
        AddBar(x, X(one.end_deg));
      else {
        AddBar(x, kRight);
        AddBar(kLeft, X(one.end_deg));
      }
      over_degrees_ +=
          SvgText({x - 4, top_ + 15}, Anchor::kEnd, std::to_string(one.cylinder), "name halo");
    }
    top_ += 20 + kGap;
  }
  void AddBar(double from, double to) {
    over_degrees_ +=
        SvgArea({{from, top_}, {to, top_}, {to, top_ + 20}, {from, top_ + 20}}, "done");
  }
  void AddStates() {
    AddName(top_, "decoder", "");
    double lane_end[] = {0, 0};
    for (const auto& [deg, name] : picture_.states) {
      const double width = Width(name) * kCharacterWidth;
      const bool fits = X(deg) + 4 + width <= kRight;
      const double begin = fits ? X(deg) + 4 : X(deg) - 4 - width;
      const int lane = begin >= lane_end[0] ? 0 : 1;
      Nth(lane_end, lane) = begin + width + 8;
      over_degrees_ += SvgSegment({X(deg), top_}, {X(deg), top_ + 34}, "edge");
      over_degrees_ += SvgText({fits ? X(deg) + 4 : X(deg) - 4, top_ + 13 + lane * kLine},
                               fits ? Anchor::kStart : Anchor::kEnd, name, "halo");
    }
    top_ += 16;
    top_ += 18 + kGap;
  }

  const CyclePicture& picture_;
  double top_;
  Markup over_degrees_;  // what moves with its degrees; all else stays in its place
  Markup out_;
};

double Thousandths(double value) { return std::round(value * 1000) / 1000; }

// For the script of the page: pixels, degrees, and by row where each tooth is due (a coil's centre,
// else its begin).
std::string DataOf(const CyclePicture& picture) {
  using Value = nlohmann::ordered_json;
  Value rows = Value::array(), ms = Value::array();
  for (const CycleRow& row : picture.rows) {
    Value teeth = Value::array();
    for (const CycleDue& due : row.due) {
      if (due.begin || row.coil) teeth.push_back({Thousandths(due.deg), due.tooth});
    }
    rows.push_back({{"name", row.name.substr(0, row.name.find(" at "))}, {"teeth", teeth}});
  }
  for (const TimeNs t_ns : picture.times_ns) {
    ms.push_back(Thousandths(ToMs(t_ns - picture.begin_ns)));
  }
  return Value{
      {"left", kLeft}, {"right", kRight}, {"cycle", picture.cycle_deg}, {"ms", ms}, {"rows", rows}}
      .dump();
}

std::string InWords(const CyclePicture& picture) {
  std::string words = picture.title;
  for (const CycleRow& row : picture.rows) {
    if (!row.words.empty()) words += fmt::format("; {}: {}", row.name, row.words);
  }
  return words;
}

}  // namespace

Drawing DrawCycle(const CyclePicture& picture) { return CyclePage(picture).Draw(); }

Markup CycleFigure(const CyclePicture& picture) {
  const std::string caption =
      fmt::format("{}: {} to {}, {:.0f} r/min", picture.title, Seconds(picture.begin_ns),
                  Seconds(picture.end_ns), picture.speed_rpm);
  return Element("figure", {{"class", "cycle"}, {"data-axis", DataOf(picture)}},
                 TextElement("figcaption", caption) +
                     Svg(DrawCycle(picture), "plot wide cycle", InWords(picture))) +
         "\n";
}

}  // namespace drycrank::report
