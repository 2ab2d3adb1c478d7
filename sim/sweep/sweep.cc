// SPDX-License-Identifier: Apache-2.0
#include "sweep/sweep.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "sweep/readout_sweep.h"
#include "sweep/sent_range.h"
#include "sweep/together.h"
#include "types/nth.h"
#include "types/random.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Readout;
using profile::Signal;
using profile::SignalRef;

constexpr std::uint64_t kRestStream = 41;

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
  gauge.not_available = readout.not_available;
  gauge.lamp_blinks_hz = readout.lamp_blinks_hz;
  gauge.lamp_latches = readout.lamp_latches;
  gauge.acknowledged_by = readout.acknowledged_by;
  gauge.keeps = readout.keeps;
  gauge.bar = readout.bar;
  return gauge;
}

// Keys rest: nobody acknowledges, and the key is on.
std::optional<double> KeyRest(const Bench& bench, const std::vector<Readout>& readouts,
                              const SignalRef& at) {
  const std::string name =
      MessageAt(bench, {at.bus, at.message}).name + "." + SignalAt(bench, at).name;
  const auto switching = RequiredSwitching(bench);
  if (switching && switching->key == name) return SentRangeOf(SignalAt(bench, at), {}).HighEnd();
  const bool acknowledges = std::ranges::any_of(
      readouts, [&](const Readout& readout) { return readout.acknowledged_by == name; });
  return acknowledges ? std::optional(0.0) : std::nullopt;
}

// What rests at a share of its range: no selector, and no signal that is instead of others.
bool Rests(const Signal& signal) {
  return signal.multiplex != profile::Multiplex::kSelector && signal.instead_of.empty();
}

// All but the display's own.
std::vector<SignalRef> AllSent(const Bench& bench) {
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
  return all;
}

}  // namespace

// Each signal at its own share of its range, none at an end.
void SendRest(const Bench& bench, std::uint64_t seed, Screen& screen) {
  const std::vector<Readout> readouts = RequiredReadouts(bench);
  std::vector<SignalRef> all;
  for (const SignalRef& at : AllSent(bench)) {
    if (Rests(SignalAt(bench, at))) {
      all.push_back(at);
    } else if (SignalAt(bench, at).instead_of.empty()) {
      screen.Send(at, std::nan(""));  // each layout in turn
    }
  }
  Random random(seed, kRestStream);
  for (std::size_t i = all.size(); i > 1; --i) std::swap(all[i - 1], all[random.Next() % i]);
  for (std::size_t i = 0; i < all.size(); ++i) {
    const SentRange range = RestRange(bench, readouts, all[i]);
    const double share = (static_cast<double>(i) + 1) / (static_cast<double>(all.size()) + 1);
    const auto number =
        range.low + std::llround(share * static_cast<double>(range.high - range.low));
    screen.Send(all[i], KeyRest(bench, readouts, all[i]).value_or(range.At(number)));
  }
}

void SendOthers(const Bench& bench, const std::vector<std::string>& but, bool high,
                Screen& screen) {
  for (const SignalRef& at : AllSent(bench)) {
    const Signal& signal = SignalAt(bench, at);
    const std::string name = MessageAt(bench, {at.bus, at.message}).name + "." + signal.name;
    if (!Rests(signal) || std::ranges::find(but, name) != but.end()) continue;
    const SentRange range = SentRangeOf(signal, {});
    screen.Send(at, range.At(high ? range.high : range.low));
  }
}

void RestKeys(const Bench& bench, Screen& screen) {
  const std::vector<Readout> readouts = RequiredReadouts(bench);
  std::vector<std::string> keys;
  if (const auto switching = RequiredSwitching(bench)) keys.push_back(switching->key);
  for (const Readout& readout : readouts) keys.push_back(readout.acknowledged_by);
  for (const std::string& key : keys) {
    const SignalRef at = profile::FindSignal(bench, key);
    if (key.empty() || at.signal < 0) continue;
    screen.Send(at, KeyRest(bench, readouts, at).value_or(0));
  }
}

std::vector<double> SweepPoints(const Bench& bench, const Readout& readout) {
  const Signal& signal = SignalAt(bench, SignalOf(bench, readout));
  const SentRange range = SentRangeOf(signal, readout);
  std::vector<double> points;
  for (const std::int64_t number : PointsOf(signal, readout)) points.push_back(range.At(number));
  return points;
}

namespace {

// Of it nothing was told any more: of all, or of it alone.
void TakeGone(const Bench& bench, const Readout& readout, Screen& screen, Swept& out) {
  screen.Silence(profile::FindMessage(bench, readout.message), false);
  const bool is_silent = screen.IsSilent();
  if (is_silent) out.fell_silent_at = readout.name;
  (is_silent ? out.not_reached : out.not_told).push_back(readout.name);
}

// Names of those whose values are there.
std::set<std::string> TakeTogether(const Bench& bench, const std::vector<Readout>& readouts,
                                   const SweepWish& wish, Screen& screen, Swept& out) {
  SendRest(bench, wish.seed, screen);
  const auto together = MovedTogether(bench, readouts, screen);
  SendRest(bench, wish.seed, screen);
  std::set<std::string> names;
  const std::vector<std::string> gone = SweepTogether(bench, together, screen, out);
  for (const Readout* r : together) {
    const bool is_gone = std::ranges::find(gone, r->name) != gone.end();
    if (is_gone && out.fell_silent_at.empty()) TakeGone(bench, *r, screen, out);
    if (!is_gone) names.insert(r->name);
  }
  return names;
}

bool IsIn(const std::vector<std::string>& names, const std::string& name) {
  return std::ranges::find(names, name) != names.end();
}

}  // namespace

Swept Sweep(const Bench& bench, const std::vector<Readout>& readouts, const SweepWish& wish,
            Screen& screen) {
  Swept out;
  std::set<std::string> has_values;
  // What can be switched on is as new at once.
  if (!wish.with_switching_on) has_values = TakeTogether(bench, readouts, wish, screen, out);
  for (const Readout& readout : readouts) {
    if (IsIn(out.not_told, readout.name) || IsIn(out.not_reached, readout.name)) continue;
    if (!out.fell_silent_at.empty()) {
      out.not_reached.push_back(readout.name);
      continue;
    }
    SendRest(bench, wish.seed, screen);
    const bool is_told =
        SweepReadout(bench, readout, wish, screen, out, has_values.contains(readout.name));
    if (!is_told) TakeGone(bench, readout, screen, out);
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
  required.display->switching = RequiredSwitching(bench).value_or(profile::Switching());
  for (const Readout& readout : RequiredReadouts(bench)) {
    required.display->gauges.push_back(AsGauge(readout));
  }
  return required;
}

}  // namespace drycrank::sweep
