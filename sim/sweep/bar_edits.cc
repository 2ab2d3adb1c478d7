// SPDX-License-Identifier: Apache-2.0
#include "sweep/bar_edits.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <utility>

#include "sweep/alike.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bar;
using profile::Gauge;
using profile::SegmentLights;

constexpr double kFar = 1e300;

std::optional<int> CountOf(const std::string& text) {
  int count = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), count);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return count;
}

const char* Word(SegmentLights lights) {
  return lights == SegmentLights::kFilled ? "filled"
         : lights == SegmentLights::kHalf ? "half"
                                          : "begun";
}
// As it is written in a bench.
std::string Written(const Bar& bar) {
  const std::string lights = bar.lights == SegmentLights::kFilled
                                 ? std::string()
                                 : fmt::format(", lights: {}", Word(bar.lights));
  return fmt::format("{{low: {:g}, high: {:g}, segments: {}{}}}", bar.low, bar.high, bar.segments,
                     lights);
}
// How far into a segment the value is when it lights.
double ShareWhenLit(SegmentLights lights) {
  return lights == SegmentLights::kFilled ? 1 : lights == SegmentLights::kHalf ? 0.5 : 0;
}

// What was seen: a value in the gauge's unit, and how many segments were lit.
struct Seen {
  double value = 0;
  int lit = 0;
};

struct Span {
  double low = -kFar, high = kFar;
  void AtLeast(double bound) { low = std::max(low, bound); }
  void AtMost(double bound) { high = std::min(high, bound); }
  bool IsKnown() const { return low > -kFar && high < kFar && low < high; }
};

// So many segments or more are lit from low + (high - low) * share on.
Span HighEnd(const Bar& bar, const std::vector<Seen>& seen) {
  Span span;
  for (const Seen& s : seen) {
    const double passed = s.value - bar.low;
    const double share = (s.lit - 1 + ShareWhenLit(bar.lights)) / bar.segments;
    const double next = share + 1.0 / bar.segments;
    if (passed <= 0) continue;
    if (s.lit > 0 && share > 0) span.AtMost(bar.low + passed / share);
    if (s.lit < bar.segments && next > 0) span.AtLeast(bar.low + passed / next);
  }
  return span;
}
Span LowEnd(const Bar& bar, const std::vector<Seen>& seen) {
  Span span;
  for (const Seen& s : seen) {
    const double left = bar.high - s.value;
    const double share = (s.lit - 1 + ShareWhenLit(bar.lights)) / bar.segments;
    const double next = share + 1.0 / bar.segments;
    if (left <= 0) continue;
    if (s.lit > 0 && share < 1) span.AtMost(bar.high - left / (1 - share));
    if (s.lit < bar.segments && next < 1) span.AtLeast(bar.high - left / (1 - next));
  }
  return span;
}

class Edits {
 public:
  Edits(const profile::Bench& bench, const profile::Readout& readout,
        const std::vector<ShownFact>& facts)
      : set_(*bench.display),
        readout_(readout),
        g_(profile::IndexOf(set_.gauges, readout.name)) {
    for (const ShownFact& f : facts) {
      if (!IsPoint(f) || !f.input || !HasValue(f.shown)) continue;
      is_bar_ = is_bar_ || IsBar(f.shown.text);
      const auto value = Convert(*f.input, readout.unit, gauge().unit);
      const auto lit = CountOf(LitOf(f.shown.text));
      if (!lit) continue;
      seen_.push_back({value.value_or(*f.input), *lit});
      if (IsBar(f.shown.text)) {
        segments_ = CountOf(f.shown.text.substr(f.shown.text.rfind(' ') + 1)).value_or(0);
      }
      most_lit_ = std::max(most_lit_, *lit);
    }
  }

  std::vector<Edit> All() {
    if (!gauge().bar) {
      if (is_bar_ && readout_.bar) OfBar("bar", "none", Written(*readout_.bar), readout_.bar);
      return std::move(edits_);
    }
    if (!is_bar_) OfBar("bar", Written(*gauge().bar), "none", std::nullopt);
    Segments();
    End("bar.low", &Bar::low, LowEnd(*gauge().bar, seen_));
    End("bar.high", &Bar::high, HighEnd(*gauge().bar, seen_));
    for (const auto lights :
         {SegmentLights::kFilled, SegmentLights::kHalf, SegmentLights::kBegun}) {
      Bar bar = *gauge().bar;
      bar.lights = lights;
      OfBar("bar.lights", Word(gauge().bar->lights), Word(lights), bar);
    }
    return std::move(edits_);
  }

 private:
  const Gauge& gauge() const { return Nth(set_.gauges, g_); }
  void OfBar(const char* key, std::string is, std::string becomes, const std::optional<Bar>& bar) {
    if (is == becomes) return;
    Edit edit{fmt::format("{} of gauge {}", key, readout_.name),
              std::move(is),
              std::move(becomes),
              {readout_.name},
              set_};
    Nth(edit.display.gauges, g_).bar = bar;
    edits_.push_back(std::move(edit));
  }
  void Segments() {
    Bar bar = *gauge().bar;
    bar.segments = segments_ > 0 ? segments_ : most_lit_;
    if (bar.segments == 0) return;
    OfBar("bar.segments", fmt::format("{}", gauge().bar->segments),
          fmt::format("{}", bar.segments), bar);
  }
  void End(const char* key, double Bar::*end, const Span& span) {
    if (!span.IsKnown()) return;
    Bar bar = *gauge().bar;
    bar.*end = NicestIn(span.low, span.high, /*above_low=*/true);
    if (bar.low >= bar.high) return;
    OfBar(key, Plain(*gauge().bar.*end), Plain(bar.*end), bar);
  }

  const profile::Display& set_;
  const profile::Readout& readout_;
  int g_;
  bool is_bar_ = false;
  int segments_ = 0, most_lit_ = 0;
  std::vector<Seen> seen_;
  std::vector<Edit> edits_;
};

}  // namespace

std::vector<Edit> BarEdits(const profile::Bench& bench, const profile::Readout& readout,
                           const std::vector<ShownFact>& facts) {
  return Edits(bench, readout, facts).All();
}

}  // namespace drycrank::sweep
