// SPDX-License-Identifier: Apache-2.0
#include "sweep/readout_sweep.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <utility>

#include "bus/layout.h"
#include "sweep/either_side.h"
#include "sweep/sent_range.h"
#include "sweep/value_sweep.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Readout;
using profile::Signal;
using profile::SignalRef;
using Numbers = std::set<std::int64_t>;

constexpr double kSilenceTimes = 4, kSilenceMoreS = 5;  // how long a value is waited for to be gone
constexpr std::int64_t kEdgeTries = 100;  // steps
constexpr double kSwitchingTimes = 2, kSwitchingMoreS = 2;  // how long going on and off is watched

// The middle one, or near it: where one digit becomes the next, or a segment lights, a display that
// smooths may show either. On that side of the edge that shows the same as the edge itself.
std::int64_t OffEdge(const SentRange& range, const Scale& scale, const Readout& readout,
                     std::int64_t low, std::int64_t high) {
  const std::int64_t middle = low + (high - low) / 2;
  const bool is_begun = readout.bar && readout.bar->lights == profile::SegmentLights::kBegun;
  const bool is_below = is_begun || (!readout.bar && scale.Shown(range.At(middle)) < 0);
  for (std::int64_t away = 0; away <= std::min(kEdgeTries, (high - low) / 4); ++away) {
    for (const std::int64_t number : {middle + (is_below ? -away : away),
                                      middle - (is_below ? -away : away)}) {
      if (!IsAtEdge(readout, scale.Shown(range.At(number)))) return number;
    }
  }
  return middle;
}

}  // namespace

std::int64_t QuietStep(const SentRange& range, const Scale& scale, const Readout& readout) {
  const auto at = [&](const std::optional<double>& shown, const std::optional<double>& else_shown,
                      std::int64_t otherwise) {
    if (shown) return range.Nearest(scale.Sent(*shown));
    return else_shown ? range.Nearest(scale.Sent(*else_shown)) : otherwise;
  };
  const auto& low_end = readout.warn_below_ends ? readout.warn_below_ends : readout.warn_below;
  const auto& high_end = readout.warn_above_ends ? readout.warn_above_ends : readout.warn_above;
  const std::int64_t low = at(low_end, readout.min, range.low);
  const std::int64_t high = at(high_end, readout.max, range.high);
  return OffEdge(range, scale, readout, low, high);
}

namespace {

std::optional<std::int64_t> WarningStep(const SentRange& range, const Readout& readout) {
  if (readout.warn_above) return range.high;
  return readout.warn_below ? std::optional(range.low) : std::nullopt;
}

}  // namespace

double QuietValue(const Bench& bench, const Readout& readout) {
  const Signal& signal = SignalAt(bench, SignalOf(bench, readout));
  const SentRange range = SentRangeOf(signal, readout);
  return range.At(QuietStep(range, Scale(signal, readout), readout));
}

std::optional<double> WarningValue(const Bench& bench, const Readout& readout) {
  const SentRange range = SentRangeOf(SignalAt(bench, SignalOf(bench, readout)), readout);
  const auto step = WarningStep(range, readout);
  return step ? std::optional(range.At(*step)) : std::nullopt;
}

namespace {

// ---- one readout ------------------------------------------------------------------------------

class ReadoutSweep {
 public:
  ReadoutSweep(const Bench& bench, const Readout& readout, const SweepWish& wish, Screen& screen,
               Swept& out)
      : bench_(bench),
        readout_(readout),
        at_(SignalOf(bench, readout)),
        signal_(SignalAt(bench, at_)),
        range_(SentRangeOf(signal_, readout)),
        scale_(signal_, readout),
        wish_(wish),
        screen_(screen),
        out_(out) {}

  bool Do() {
    if (wish_.with_switching_on && screen_.SwitchOn()) SwitchedOn();
    Values();
    return AfterValues();
  }
  bool AfterValues() {
    Silence();
    NotAvailable();
    if (!LampAfterwards()) KeptAcknowledged();
    if (wish_.with_switching_on) Switching();
    return alive_;
  }

 private:
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
  void Values() {
    ValueSweep values(bench_, readout_, screen_, out_,
                      {[this] { Renew(); }, [this] { return Acknowledge(); }});
    while (const auto wanted = alive_ ? values.Next() : std::nullopt) {
      values.Take(screen_.LookAtEach({*wanted}).front());
      alive_ = alive_ && values.is_alive();
    }
  }
  std::int64_t Quiet() const { return QuietStep(range_, scale_, readout_); }
  // As new: switched on, or else acknowledged.
  void Renew() {
    if (!wish_.with_switching_on || !screen_.SwitchOn()) Acknowledge();
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

  void NotAvailable() {
    if (!bus::CanSayNotAvailable(signal_) || !alive_) return;
    screen_.Send(at_, std::nan(""));
    auto shown = screen_.Look(readout_);
    alive_ = shown.has_value();
    if (shown) Add(Step::kNotAvailable, {}, std::move(*shown));
    LookAt(Quiet());
  }

  // ---- the lamp once it has warned ----

  bool Acknowledge() {
    const SignalRef key = profile::FindSignal(bench_, readout_.acknowledged_by);
    if (readout_.acknowledged_by.empty() || key.signal < 0) return false;
    for (const double pressed : {1.0, 0.0}) {
      screen_.Send(key, pressed);
      alive_ = alive_ && screen_.Look(readout_).has_value();
    }
    return true;
  }
  // Each other signal low or high: none of them may acknowledge.
  void Others(bool high) {
    if (!alive_) return;
    std::vector<std::string> but{readout_.message + "." + readout_.signal,
                                 readout_.acknowledged_by};
    if (const auto required = RequiredSwitching(bench_)) but.push_back(required->key);
    SendOthers(bench_, but, high, screen_);
    alive_ = screen_.Look(readout_).has_value();
  }
  void OtherKeys(std::int64_t then) {
    for (const bool high : {false, true, false}) Others(high);
    Seen(Step::kOtherKeys, {then});
  }
  void Rest(std::int64_t number) {
    SendRest(bench_, wish_.seed, screen_);
    LookAt(number);
  }
  // False: nothing of it is asked.
  bool LampAfterwards() {
    const auto warning = WarningStep(range_, readout_);
    const bool has_key = !readout_.acknowledged_by.empty();
    if (!warning || readout_.lamp.empty()) return false;
    if (!readout_.lamp_latches && !has_key) {
      if (readout_.lamp_blinks_hz == 0) return false;
      Others(false);
      Renew();
      LookAt(*warning);
      OtherKeys(*warning);
      Rest(Quiet());
      return true;
    }
    Others(false);
    Renew();
    Seen(Step::kAfterWarning, {*warning, Quiet()});
    if (readout_.lamp_latches || Keeps()) OtherKeys(Quiet());
    if (has_key) {
      LookAt(*warning);
      LookAt(Quiet());
      Acknowledge();
      Seen(Step::kAcknowledged, {Quiet()});
      LookAt(*warning);
      Acknowledge();
      Seen(Step::kAcknowledgedWarning, {*warning});
    }
    Rest(Quiet());
    return true;
  }
  bool Keeps() const { return readout_.keeps != profile::Keeps::kNothing; }
  // The highest or lowest that is kept, until a key lets go of it.
  void KeptAcknowledged() {
    if (!Keeps() || !alive_) return;
    const std::int64_t far = readout_.keeps == profile::Keeps::kHighest ? range_.high : range_.low;
    Others(false);
    Renew();
    LookAt(far);
    LookAt(Quiet());
    OtherKeys(Quiet());
    LookAt(far);
    LookAt(Quiet());
    if (Acknowledge()) Seen(Step::kAcknowledged, {Quiet()});
    Rest(Quiet());
  }
  // What the last of them shows.
  void Seen(Step step, std::initializer_list<std::int64_t> numbers) {
    std::optional<Shown> shown;
    for (const std::int64_t number : numbers) shown = LookAt(number);
    if (shown) Add(step, {}, std::move(*shown));
  }

  // ---- on and off ----

  void Switching() {
    const auto required = RequiredSwitching(bench_);
    if (!required || !LookAt(Quiet())) return;
    const double most_s =
        kSwitchingTimes * 1e-3 * (required->dark_ms + required->lamp_test_ms) + kSwitchingMoreS;
    if (auto started = screen_.WatchStart(readout_, most_s)) Started(*started);
    const SignalRef key = profile::FindSignal(bench_, required->key);
    if (required->key.empty() || key.signal < 0) return;
    screen_.Send(key, 0);
    const auto off_s = screen_.OffAfterS(
        readout_, kSwitchingTimes * 1e-3 * required->off_after_ms + kSwitchingMoreS);
    if (auto shown = screen_.Look(readout_)) Add(Step::kOffAfter, off_s, std::move(*shown));
    screen_.Send(key, SentRangeOf(SignalAt(bench_, key), {}).HighEnd());
    screen_.SwitchOn();
  }
  void Started(Screen::Started& started) {
    Add(Step::kStandsAfter, started.stands_after_s, std::move(started.first));
    if (readout_.lamp.empty()) return;
    Add(Step::kLampTest, started.lit_until_s, {.text = started.lit_until_s ? kLitUntil : kNoTest});
  }

  const Bench& bench_;
  const Readout& readout_;
  SignalRef at_;
  const Signal& signal_;
  SentRange range_;
  Scale scale_;
  const SweepWish& wish_;
  Screen& screen_;
  Swept& out_;
  bool alive_ = true;
};

}  // namespace

bool SweepReadout(const Bench& bench, const Readout& readout, const SweepWish& wish, Screen& screen,
                  Swept& out, bool has_values) {
  ReadoutSweep sweep(bench, readout, wish, screen, out);
  return has_values ? sweep.AfterValues() : sweep.Do();
}

}  // namespace drycrank::sweep
