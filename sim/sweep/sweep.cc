// SPDX-License-Identifier: Apache-2.0
#include "sweep/sweep.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "sweep/sent_range.h"
#include "types/nth.h"
#include "types/random.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Readout;
using profile::Signal;
using profile::SignalRef;

constexpr int kEvenPoints = 7;   // between the ends of the range
constexpr int kStepsAround = 2;  // of the last digit, on either side of a limit
constexpr int kQuietTries = 8;   // where a readout warns that should be quiet
constexpr double kSilenceTimes = 4, kSilenceMoreS = 5;  // how long a value is waited for to be gone
constexpr std::uint64_t kRestStream = 41;

SignalRef SignalOf(const Bench& bench, const Readout& readout) {
  return profile::FindSignal(bench, readout.message + "." + readout.signal);
}

// Of the readout's unit and back.
class Scale {
 public:
  Scale(const Signal& signal, const Readout& readout)
      : from_(signal.unit), to_(readout.unit), plain_(from_.empty() || to_.empty()) {}
  double Shown(double physical) const {
    return plain_ ? physical : Convert(physical, from_, to_).value_or(physical);
  }
  double Sent(double shown) const {
    return plain_ ? shown : Convert(shown, to_, from_).value_or(shown);
  }

 private:
  std::string from_, to_;
  bool plain_;
};

// ---- which values -----------------------------------------------------------------------------

using Numbers = std::set<std::int64_t>;

void AddAround(const SentRange& range, const Scale& scale, double digit,
               const std::optional<double>& limit, Numbers& numbers) {
  if (!limit) return;
  for (int step = -kStepsAround; step <= kStepsAround; ++step) {
    numbers.insert(range.Nearest(scale.Sent(*limit + step * digit)));
  }
  const std::int64_t at = range.Nearest(scale.Sent(*limit));
  numbers.insert({std::max(range.low, at - 1), std::min(range.high, at + 1)});
}

Numbers PointsOf(const Signal& signal, const Readout& readout) {
  const SentRange range = SentRangeOf(signal, readout);
  const Scale scale(signal, readout);
  const double digit = std::pow(10.0, -readout.decimals);
  Numbers numbers{range.low, range.high};
  const auto end = [&](const std::optional<double>& shown, std::int64_t otherwise) {
    return shown ? range.Nearest(scale.Sent(*shown)) : otherwise;
  };
  const std::int64_t low = end(readout.min, range.low), high = end(readout.max, range.high);
  AddAround(range, scale, digit, readout.min, numbers);
  AddAround(range, scale, digit, readout.max, numbers);
  // At odd sixteenths, so that they end in all digits.
  for (int k = 0; k <= kEvenPoints; ++k) {
    numbers.insert(low + (high - low) * (2 * k + 1) / (2 * kEvenPoints + 2));
  }
  AddAround(range, scale, digit, readout.warn_above, numbers);
  AddAround(range, scale, digit, readout.warn_above_ends, numbers);
  AddAround(range, scale, digit, readout.warn_below, numbers);
  AddAround(range, scale, digit, readout.warn_below_ends, numbers);
  for (const auto& [value, name] : readout.values) {
    numbers.insert(range.Nearest(scale.Sent(static_cast<double>(value))));
  }
  return numbers;
}

// ---- one readout ------------------------------------------------------------------------------

class ReadoutSweep {
 public:
  ReadoutSweep(const Bench& bench, const Readout& readout, Screen& screen, Swept& out)
      : bench_(bench),
        readout_(readout),
        at_(SignalOf(bench, readout)),
        signal_(SignalAt(bench, at_)),
        range_(SentRangeOf(signal_, readout)),
        scale_(signal_, readout),
        screen_(screen),
        out_(out) {}

  // False: the display told nothing any more.
  bool Do(bool with_switching_on) {
    with_switching_on_ = with_switching_on;
    Select();
    if (with_switching_on && screen_.SwitchOn()) SwitchedOn();
    const Numbers numbers = PointsOf(signal_, readout_);
    for (const std::int64_t n : numbers) Point(Step::kUp, n);
    for (auto n = numbers.rbegin(); n != numbers.rend(); ++n) Point(Step::kDown, *n);
    Limits();
    Silence();
    return alive_;
  }

 private:
  // Of a multiplexed message, the layout that has it.
  void Select() {
    const profile::Message& message = MessageAt(bench_, {at_.bus, at_.message});
    if (signal_.multiplex != profile::Multiplex::kSelected) return;
    for (std::size_t s = 0; s < message.signals.size(); ++s) {
      const Signal& selector = message.signals[s];
      if (selector.multiplex != profile::Multiplex::kSelector) continue;
      const auto raw = static_cast<double>(signal_.multiplex_value);
      screen_.Send({at_.bus, at_.message, static_cast<int>(s)},
                   raw * selector.scale + selector.offset);
    }
  }
  std::optional<Shown> LookAt(std::int64_t number) {
    if (!alive_) return std::nullopt;
    screen_.Send(at_, range_.At(number));
    auto shown = screen_.Look(readout_);
    alive_ = shown.has_value();
    return shown;
  }
  void Add(Step step, std::optional<double> input, Shown shown) {
    out_.facts.push_back({readout_.name, step, input, std::move(shown)});
  }
  void SwitchedOn() {
    const profile::MessageRef message{at_.bus, at_.message};
    screen_.Silence(message, true);
    if (auto shown = screen_.Look(readout_)) Add(Step::kPowerOn, {}, std::move(*shown));
    screen_.Silence(message, false);
  }
  void Point(Step step, std::int64_t number) {
    auto shown = LookAt(number);
    if (shown) Add(step, scale_.Shown(range_.At(number)), std::move(*shown));
  }

  // ---- limits ----

  // A value that must be quiet: in the middle of where no limit is.
  std::int64_t Quiet() const {
    const auto at = [&](const std::optional<double>& shown, const std::optional<double>& else_shown,
                        std::int64_t otherwise) {
      if (shown) return range_.Nearest(scale_.Sent(*shown));
      return else_shown ? range_.Nearest(scale_.Sent(*else_shown)) : otherwise;
    };
    const std::int64_t low =
        at(readout_.warn_below_ends ? readout_.warn_below_ends : readout_.warn_below, readout_.min,
           range_.low);
    const std::int64_t high =
        at(readout_.warn_above_ends ? readout_.warn_above_ends : readout_.warn_above, readout_.max,
           range_.high);
    return low + (high - low) / 2;
  }
  // From `far` it has warned; from elsewhere it must be as new, where it can be switched.
  bool Warns(std::int64_t from, std::int64_t number, bool has_warned = false) {
    if (!has_warned && with_switching_on_) screen_.SwitchOn();
    LookAt(from);
    const auto shown = LookAt(number);
    last_ = shown.value_or(Shown{});
    return last_.state == "warning";
  }
  // Between `is`, where it warns, and `is_not`, coming from `from` each time: two neighbours.
  struct Edge {
    std::int64_t warns = 0, quiet = 0;
  };
  Edge Halve(std::int64_t from, std::int64_t warns, std::int64_t quiet, bool has_warned) {
    while (alive_ && std::abs(warns - quiet) > 1) {
      const std::int64_t middle = quiet + (warns - quiet) / 2;
      (Warns(from, middle, has_warned) ? warns : quiet) = middle;
    }
    return {warns, quiet};
  }
  // A value that is quiet: the middle one, or one farther from `far`.
  std::optional<std::int64_t> QuietAwayFrom(std::int64_t far) {
    const std::int64_t quiet = Quiet(), other = far == range_.high ? range_.low : range_.high;
    for (int part = 0; alive_ && part <= kQuietTries; ++part) {
      const std::int64_t number = quiet + (other - quiet) * part / kQuietTries;
      if (!Warns(number, number)) return number;
    }
    return std::nullopt;
  }
  void Limit(Step limit, Step end, std::int64_t far) {
    const auto say = [&](Step step, const char* text) {
      if (alive_) Add(step, {}, {.text = text, .unit = readout_.unit, .lamp = last_.lamp});
    };
    const auto quiet = QuietAwayFrom(far);
    if (!quiet) return say(limit, kAlways);
    if (*quiet == far || !Warns(*quiet, far)) return say(limit, kNever);
    const Shown warning = last_;
    AddEdge(limit, Halve(*quiet, far, *quiet, false), warning);
    // From the far end back: where it is quiet at last.
    if (Warns(far, *quiet, true)) return say(end, kNoEnd);
    AddEdge(end, Halve(far, far, *quiet, true), warning);
  }
  void AddEdge(Step step, const Edge& edge, const Shown& warning) {
    if (!alive_) return;
    const double quiet = scale_.Shown(range_.At(edge.quiet)),
                 warns = scale_.Shown(range_.At(edge.warns));
    const double nicest =
        quiet < warns ? NicestIn(quiet, warns) : NicestIn(warns, quiet, /*above_low=*/true);
    Add(step, nicest,
        {.text = fmt::format("quiet at {}; warns at {}", Plain(quiet), Plain(warns)),
         .unit = readout_.unit,
         .lamp = warning.lamp});
  }
  void Limits() {
    Limit(Step::kWarnsAbove, Step::kEndsBelow, range_.high);
    Limit(Step::kWarnsBelow, Step::kEndsAbove, range_.low);
  }

  // ---- silence ----

  void Silence() {
    const profile::MessageRef message{at_.bus, at_.message};
    if (!LookAt(Quiet())) return;
    screen_.Silence(message, true);
    const double most_s = kSilenceTimes * readout_.dashes_after_ms * 1e-3 + kSilenceMoreS;
    const auto gone_s = screen_.GoneAfterS(readout_, most_s);
    auto shown = screen_.Look(readout_);
    alive_ = shown.has_value();
    if (shown) Add(Step::kGoneAfter, gone_s, std::move(*shown));
    screen_.Silence(message, false);
    shown = LookAt(Quiet());
    if (shown) Add(Step::kBack, {}, std::move(*shown));
  }

  const Bench& bench_;
  const Readout& readout_;
  SignalRef at_;
  const Signal& signal_;
  SentRange range_;
  Scale scale_;
  Screen& screen_;
  Swept& out_;
  Shown last_;
  bool alive_ = true, with_switching_on_ = false;
};

// ---- all of them ------------------------------------------------------------------------------

// What of a signal may rest: not where a readout of it holds its value.
SentRange RestRange(const Bench& bench, const std::vector<Readout>& readouts, const SignalRef& at) {
  const Signal& signal = SignalAt(bench, at);
  const std::string& message = MessageAt(bench, {at.bus, at.message}).name;
  SentRange range = SentRangeOf(signal, {});
  for (const Readout& r : readouts) {
    if (r.message != message || r.signal != signal.name) continue;
    const Scale scale(signal, r);
    if (r.min) range.low = std::max(range.low, range.Nearest(scale.Sent(*r.min)));
    if (r.max) range.high = std::min(range.high, range.Nearest(scale.Sent(*r.max)));
  }
  return range;
}

profile::Gauge AsGauge(const Readout& readout) {
  profile::Gauge gauge;
  gauge.name = readout.name;
  gauge.label = readout.label;
  gauge.message = readout.message;
  gauge.signal = readout.signal;
  gauge.unit = readout.unit;
  gauge.decimals = readout.decimals;
  gauge.page = readout.page;
  gauge.min = readout.min;
  gauge.max = readout.max;
  gauge.values = readout.values;
  gauge.warn_above = readout.warn_above;
  gauge.warn_below = readout.warn_below;
  const auto back = [](const auto& limit, const auto& end) {
    return limit ? std::abs(*limit - end.value_or(*limit)) : 0;
  };
  gauge.hysteresis = back(readout.warn_above, readout.warn_above_ends);
  gauge.hysteresis_below = back(readout.warn_below, readout.warn_below_ends);
  gauge.lamp = readout.lamp;
  gauge.dashes = readout.dashes;
  gauge.stale_ms = readout.dashes_after_ms;
  gauge.place = readout.place;
  return gauge;
}

}  // namespace

// Each signal at its own share of its range, none at an end.
void SendRest(const Bench& bench, std::uint64_t seed, Screen& screen) {
  const std::vector<Readout> readouts = RequiredReadouts(bench);
  std::vector<SignalRef> all;
  for (int b = 0; b < static_cast<int>(bench.buses.size()); ++b) {
    const auto& messages = Nth(bench.buses, b).messages;
    for (int m = 0; m < static_cast<int>(messages.size()); ++m) {
      if (Nth(messages, m).sender == profile::Sender::kDisplay) continue;
      for (int s = 0; s < static_cast<int>(Nth(messages, m).signals.size()); ++s) {
        all.push_back({b, m, s});
      }
    }
  }
  Random random(seed, kRestStream);
  for (std::size_t i = all.size(); i > 1; --i) std::swap(all[i - 1], all[random.Next() % i]);
  for (std::size_t i = 0; i < all.size(); ++i) {
    const SentRange range = RestRange(bench, readouts, all[i]);
    const double share = (static_cast<double>(i) + 1) / (static_cast<double>(all.size()) + 1);
    const auto number =
        range.low + std::llround(share * static_cast<double>(range.high - range.low));
    screen.Send(all[i], range.At(number));
  }
}

std::vector<double> SweepPoints(const Bench& bench, const Readout& readout) {
  const Signal& signal = SignalAt(bench, SignalOf(bench, readout));
  const SentRange range = SentRangeOf(signal, readout);
  std::vector<double> points;
  for (const std::int64_t number : PointsOf(signal, readout)) points.push_back(range.At(number));
  return points;
}

Swept Sweep(const Bench& bench, const std::vector<Readout>& readouts, const SweepWish& wish,
            Screen& screen) {
  Swept out;
  for (const Readout& readout : readouts) {
    if (!out.fell_silent_at.empty()) {
      out.not_shown.push_back(readout.name);
      continue;
    }
    SendRest(bench, wish.seed, screen);
    if (ReadoutSweep(bench, readout, screen, out).Do(wish.with_switching_on)) continue;
    out.fell_silent_at = readout.name;
    out.not_shown.push_back(readout.name);
  }
  Sort(out.facts);
  return out;
}

Bench AsRequired(const Bench& bench) {
  Bench required = bench;
  required.display.emplace();
  for (const profile::Bus& bus : bench.buses) {
    required.display->layouts.insert(required.display->layouts.end(), bus.messages.begin(),
                                     bus.messages.end());
  }
  for (const Readout& readout : RequiredReadouts(bench)) {
    required.display->gauges.push_back(AsGauge(readout));
  }
  return required;
}

}  // namespace drycrank::sweep
