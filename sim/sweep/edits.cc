// SPDX-License-Identifier: Apache-2.0
#include "sweep/edits.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <iterator>
#include <tuple>
#include <utility>

#include "sweep/bar_edits.h"
#include "sweep/fit_of_layout.h"
#include "sweep/key_edits.h"
#include "sweep/layout_edits.h"
#include "sweep/manner_edits.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Display;
using profile::Gauge;

constexpr double kNeverMs = 1e9;
constexpr double kFar = 1e8;  // beyond all values

std::string Word(const std::optional<double>& value) { return value ? Plain(*value) : "none"; }

std::optional<double> NumberOf(const std::string& text) {
  double number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return number;
}

class Edits {
 public:
  Edits(const Bench& bench, const profile::Readout& readout, const std::vector<ShownFact>& facts)
      : bench_(bench),
        set_(*bench.display),
        readout_(readout),
        facts_(facts),
        g_(profile::IndexOf(set_.gauges, readout.name)) {}

  std::vector<Edit> All() {
    if (g_ < 0) return {};
    Absent();
    OnScreen();
    Warnings();
    std::ranges::move(BarEdits(bench_, readout_, facts_), std::back_inserter(edits_));
    std::ranges::move(MannerEdits(bench_, readout_, facts_), std::back_inserter(edits_));
    std::ranges::move(LayoutEdits(bench_, readout_, facts_), std::back_inserter(edits_));
    std::ranges::move(KeyEdits(bench_, readout_), std::back_inserter(edits_));
    return std::move(edits_);
  }

 private:
  const Gauge& gauge() const { return Nth(set_.gauges, g_); }
  const ShownFact* At(Step step) const {
    const auto found = std::ranges::find(facts_, step, &ShownFact::step);
    return found == facts_.end() ? nullptr : &*found;
  }
  // The first fact of a value that stood there.
  const ShownFact* Standing() const {
    const auto found = std::ranges::find_if(facts_, [](const ShownFact& f) {
      return f.step == Step::kUp && (f.shown.state == "ok" || f.shown.state == "warning");
    });
    return found == facts_.end() ? nullptr : &*found;
  }

  template <class Change>
  void OfGauge(const char* key, std::string is, std::string becomes, Change change,
               bool is_unlikely = false) {
    if (is == becomes) return;
    Edit edit{fmt::format("{} of gauge {}", key, readout_.name),
              std::move(is),
              std::move(becomes),
              {readout_.name},
              set_};
    change(Nth(edit.display.gauges, g_));
    edit.is_unlikely = is_unlikely;
    edits_.push_back(std::move(edit));
  }
  // ---- what stands on the screen ----

  void Absent() {
    if (facts_.empty() || facts_.front().shown.state != "absent") return;
    Edit edit{"gauge " + readout_.name, "there", "left out", {readout_.name}, set_};
    edit.display.gauges.erase(edit.display.gauges.begin() + g_);
    edits_.push_back(std::move(edit));
  }
  void OnScreen() {
    if (const ShownFact* f = Standing()) {
      if (f->shown.page > 0) {
        OfGauge("page", fmt::format("{}", gauge().page), fmt::format("{}", f->shown.page),
                [&](Gauge& g) { g.page = f->shown.page; });
      }
    }
    for (const std::string& unit : UnitsLike(gauge().unit)) {
      OfGauge("unit", gauge().unit, unit, [&](Gauge& g) { g.unit = unit; });
    }
    for (int decimals = 0; decimals <= 6; ++decimals) {
      OfGauge("decimals", fmt::format("{}", gauge().decimals), fmt::format("{}", decimals),
              [&](Gauge& g) { g.decimals = decimals; });
    }
    const ShownFact* f = Standing();
    if (f == nullptr || !IsBar(f->shown.text)) {
      Names();
      AllNames();
    }
    UnitSign();
    Gone();
    Ends();
  }
  // The sign alone: the number is as it was.
  void UnitSign() {
    const ShownFact* f = Standing();
    const int m = profile::IndexOf(set_.layouts, gauge().message);
    const int signal = m < 0 ? -1 : profile::IndexOf(Nth(set_.layouts, m).signals, gauge().signal);
    if (f == nullptr || f->shown.unit.empty() || signal < 0) return;
    if (!Convert(0, gauge().unit, f->shown.unit)) return;
    Edit edit{"unit sign of gauge " + readout_.name, gauge().unit, f->shown.unit,
              {readout_.name}, set_};
    profile::Message& message = Nth(edit.display.layouts, m);
    profile::Signal renamed = Nth(message.signals, signal);
    if (renamed.unit != gauge().unit || gauge().unit == f->shown.unit) return;
    renamed.name = gauge().signal + " under another sign";
    renamed.unit = f->shown.unit;
    Gauge& changed = Nth(edit.display.gauges, g_);
    changed.signal = renamed.name;
    changed.unit = f->shown.unit;
    message.signals.push_back(std::move(renamed));
    edits_.push_back(std::move(edit));
  }
  // One name otherwise, one missing, one too many.
  void Names() {
    for (const auto& [value, name] : NamesSeen()) {
      const auto was = gauge().values.find(value);
      const std::string is = was == gauge().values.end() ? "none" : was->second;
      const std::string becomes = NumberOf(name) ? "none" : name;
      OfGauge(fmt::format("name of {}", value).c_str(), is, becomes, [&, v = value](Gauge& g) {
        if (becomes == "none") {
          g.values.erase(v);
        } else {
          g.values[v] = becomes;
        }
      });
    }
  }
  // All as they were seen: left out, exchanged.
  void AllNames() {
    std::vector<std::string> values, is, becomes;
    profile::ValueNames names = gauge().values;
    for (const auto& [value, name] : NamesSeen()) {
      const auto was = gauge().values.find(value);
      if (was != gauge().values.end() && was->second == name) continue;
      values.push_back(fmt::format("{}", value));
      is.push_back(was == gauge().values.end() ? "none" : was->second);
      becomes.push_back(NumberOf(name) ? "none" : name);
      names.erase(value);
      if (!NumberOf(name)) names[value] = name;
    }
    if (values.size() < 2) return;
    OfGauge(fmt::format("name of {}", fmt::join(values, ", ")).c_str(),
            fmt::format("{}", fmt::join(is, ", ")), fmt::format("{}", fmt::join(becomes, ", ")),
            [&](Gauge& g) { g.values = names; }, /*is_unlikely=*/true);
  }
  profile::ValueNames NamesSeen() const {
    profile::ValueNames seen;
    for (const ShownFact& f : facts_) {
      if (f.step != Step::kUp || !f.input || *f.input != std::round(*f.input)) continue;
      if (!HasValue(f.shown)) continue;
      const auto value = std::llround(*f.input);
      if (gauge().values.contains(value) || !NumberOf(f.shown.text)) seen[value] = f.shown.text;
    }
    return seen;
  }
  void Gone() {
    const ShownFact* f = At(Step::kGoneAfter);
    if (f == nullptr || Standing() == nullptr) return;
    if (f->input) {
      const double ms = std::round(*f->input * 1e6) / 1e3;
      OfGauge("stale_ms", Plain(gauge().stale_ms), Plain(ms), [&](Gauge& g) { g.stale_ms = ms; });
    } else if (HasValue(f->shown)) {
      OfGauge("stale_ms", Plain(gauge().stale_ms), "one that never ends",
              [](Gauge& g) { g.stale_ms = kNeverMs; });
    }
    OfGauge("dashes", gauge().dashes, f->shown.text, [&](Gauge& g) { g.dashes = f->shown.text; });
  }
  // Where it is held: what stands there at the lowest and the highest that was sent.
  void Ends() {
    std::optional<double> low, high;
    for (const ShownFact& f : facts_) {
      const bool is_point = f.step == Step::kUp || f.step == Step::kDown;
      const auto number = is_point ? NumberOf(f.shown.text) : std::nullopt;
      if (!number) continue;
      low = std::min(low.value_or(*number), *number);
      high = std::max(high.value_or(*number), *number);
    }
    const bool is_kept = gauge().keeps != profile::Keeps::kNothing;
    if (low == high && !is_kept && gauge().values.empty()) return;  // it stands still
    for (const auto& [key, member, seen] :
         {std::tuple{"min", &Gauge::min, low}, std::tuple{"max", &Gauge::max, high}}) {
      std::vector<std::optional<double>> ends{seen, std::nullopt};
      for (const auto& [value, name] : gauge().values) ends.emplace_back(value);
      for (const auto& end : ends) {
        const bool is_unlikely = end && !(gauge().*member) && DecimalsOf(*end) > 0;
        OfGauge(
            key, Word(gauge().*member), Word(end),
            [end = end, member = member](Gauge& g) { g.*member = end; }, is_unlikely);
      }
    }
  }

  // ---- warnings ----

  void Warnings() {
    for (const ShownFact& f : facts_) {
      const bool warned = f.shown.state == "warning" ||
                          (f.input && f.step >= Step::kWarnsAbove && f.step <= Step::kEndsAbove);
      if (!warned) continue;
      const std::string lamp = LampName(f.shown.lamp);
      OfGauge("lamp", gauge().lamp, lamp, [&](Gauge& g) { g.lamp = lamp; });
      break;
    }
    Limit("warn_above", &Gauge::warn_above, Step::kWarnsAbove);
    Limit("warn_below", &Gauge::warn_below, Step::kWarnsBelow);
    Hysteresis("hysteresis", gauge().warn_above, Step::kEndsBelow, false);
    Hysteresis("hysteresis", gauge().warn_below, Step::kEndsAbove,
               gauge().hysteresis_below.has_value());
  }
  void Limit(const char* key, std::optional<double> Gauge::*limit, Step step) {
    const ShownFact* f = At(step);
    if (f == nullptr) return;
    const std::string is = Word(gauge().*limit);
    if (!f->input) {
      if (f->shown.text == kAlways) AlwaysWarns(key, limit);
      return OfGauge(key, is, Word(f->input), [&](Gauge& g) { g.*limit = f->input; });
    }
    std::vector<double> candidates{*f->input};
    if (const auto both = WithEnd(limit, *f)) candidates.insert(candidates.begin(), *both);
    if (const auto between = BetweenOf(f->shown.text)) {
      // The last of a float may be either end itself, where the message cannot say it exactly.
      for (const double end : EndsOf(between->quiet, between->warns)) candidates.push_back(end);
      candidates.push_back((between->quiet + between->warns) / 2);
    }
    std::stable_sort(candidates.begin() + 1, candidates.end(),
                     [](double a, double b) { return DecimalsOf(a) < DecimalsOf(b); });
    for (const double to : candidates) {
      const bool is_unlikely = DecimalsOf(to) > gauge().decimals;
      OfGauge(key, is, Plain(to), [&](Gauge& g) { g.*limit = to; }, is_unlikely);
      if (gauge().*limit) WithItsEnd(key, limit, to);
    }
  }
  void AlwaysWarns(const char* key, std::optional<double> Gauge::*limit) {
    const double beyond = limit == &Gauge::warn_above ? -kFar : kFar;
    OfGauge(key, Word(gauge().*limit), "one that always warns",
            [&](Gauge& g) { g.*limit = beyond; });
  }
  // The nicest number that explains both the limit and its end, which goes with it.
  std::optional<double> WithEnd(std::optional<double> Gauge::*limit, const ShownFact& f) const {
    const bool is_above = limit == &Gauge::warn_above;
    const ShownFact* end = At(is_above ? Step::kEndsBelow : Step::kEndsAbove);
    const auto a = BetweenOf(f.shown.text),
               b = end == nullptr ? std::nullopt : BetweenOf(end->shown.text);
    if (!a || !b) return std::nullopt;
    const double back =
        is_above ? gauge().hysteresis : -gauge().hysteresis_below.value_or(gauge().hysteresis);
    const double low = std::max(std::min(a->quiet, a->warns), std::min(b->quiet, b->warns) + back);
    const double high = std::min(std::max(a->quiet, a->warns), std::max(b->quiet, b->warns) + back);
    if (low >= high) return std::nullopt;
    return NicestIn(low, high, /*above_low=*/!is_above);
  }
  // The limit alone: its end stays where it was, which the stand-in says by its distance.
  void WithItsEnd(const char* key, std::optional<double> Gauge::*limit, double to) {
    const bool is_above = limit == &Gauge::warn_above;
    const double was = *(gauge().*limit);
    const double back = is_above ? gauge().hysteresis
                                 : gauge().hysteresis_below.value_or(gauge().hysteresis);
    const double distance = is_above ? to - (was - back) : (was + back) - to;
    if (distance < 0 || std::abs(distance - back) < 1e-9) return;
    const auto change = [&](Gauge& g) {
      const double below = g.hysteresis_below.value_or(g.hysteresis);
      g.*limit = to;
      if (is_above) g.hysteresis = distance;
      g.hysteresis_below = is_above ? below : distance;
    };
    OfGauge(key, Plain(was), Plain(to), change, /*is_unlikely=*/true);
  }
  void Hysteresis(const char* key, const std::optional<double>& limit, Step step, bool apart) {
    const ShownFact* f = At(step);
    const auto between = f == nullptr ? std::nullopt : BetweenOf(f->shown.text);
    if (limit && f != nullptr && f->shown.text == kNoEnd) {
      OfGauge(key, Plain(gauge().hysteresis), "one that never lets go",
              [](Gauge& g) { g.hysteresis = kFar; });
    }
    if (!limit || !between) return;
    const double back = step == Step::kEndsBelow ? -1 : 1;
    const double to_warns = back * (between->warns - *limit),
                 to_quiet = back * (between->quiet - *limit);
    if (to_warns >= to_quiet || to_quiet < 0) return;
    if (apart) {
      OfGauge("hysteresis_below", Word(gauge().hysteresis_below), Word(std::nullopt),
              [&](Gauge& g) { g.hysteresis_below.reset(); });
    }
    std::vector<double> candidates;
    if (const auto both = apart ? std::nullopt : OfBothSides()) candidates.push_back(*both);
    candidates.push_back(NicestIn(to_warns, to_quiet, /*above_low=*/true));
    for (const double end : EndsOf(to_warns, to_quiet)) candidates.push_back(end);
    for (const double number : candidates) {
      const double fits = std::max(0.0, number);
      if (!apart) {
        OfGauge(key, Plain(gauge().hysteresis), Plain(fits),
                [&](Gauge& g) { g.hysteresis = fits; });
      }
      if (step == Step::kEndsAbove) {
        OfGauge("hysteresis_below", Word(gauge().hysteresis_below), Plain(fits),
                [&](Gauge& g) { g.hysteresis_below = fits; });
      }
    }
  }
  // One hysteresis for two limits: the nicest that explains both ends.
  std::optional<double> OfBothSides() const {
    double low = 0, high = kFar;
    for (const auto& [limit, step, sign] : {std::tuple(gauge().warn_above, Step::kEndsBelow, -1),
                                            std::tuple(gauge().warn_below, Step::kEndsAbove, 1)}) {
      const ShownFact* f = At(step);
      const auto between = f == nullptr ? std::nullopt : BetweenOf(f->shown.text);
      if (!limit || !between) return std::nullopt;
      low = std::max(low, sign * (between->warns - *limit));
      high = std::min(high, sign * (between->quiet - *limit));
    }
    if (low >= high) return std::nullopt;
    return NicestIn(low, high, /*above_low=*/true);
  }
  // Both as they are written, the one with fewer digits first.
  static std::vector<double> EndsOf(double a, double b) {
    const auto written = [](double x) { return NumberOf(Plain(x)).value_or(x); };
    std::vector<double> ends{written(a), written(b)};
    if (DecimalsOf(ends[1]) < DecimalsOf(ends[0])) std::swap(ends[0], ends[1]);
    return ends;
  }
  static int DecimalsOf(double number) {
    const std::string text = Plain(number);
    const auto point = text.find('.');
    return point == std::string::npos ? 0 : static_cast<int>(text.size() - point - 1);
  }

  const Bench& bench_;
  const Display& set_;
  const profile::Readout& readout_;
  const std::vector<ShownFact>& facts_;
  int g_;
  std::vector<Edit> edits_;
};

}  // namespace

std::vector<Edit> EditsFor(const Bench& bench, const profile::Readout& readout,
                           const std::vector<ShownFact>& facts) {
  return Edits(bench, readout, facts).All();
}

}  // namespace drycrank::sweep
