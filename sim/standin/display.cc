// SPDX-License-Identifier: Apache-2.0
#include "standin/display.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "bus/layout.h"
#include "types/decimal.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::standin {
namespace {

// The order is part of what goes over the bus: new units come at the end.
constexpr std::string_view kUnitCodes[] = {
    "degC", "K",     "degF",   "kPa",    "Pa",   "hPa", "mbar",  "bar",    "MPa",    "psi",
    "inHg", "atm",   "rpm",    "rad/s",  "deg",  "rad", "s",     "ms",     "us",     "ns",
    "min",  "h",     "V",      "mV",     "A",    "mA",  "ohm",   "mohm",   "kohm",   "Mohm",
    "Hz",   "kHz",   "km/h",   "m/s",    "mph",  "m",   "mm",    "cm",     "in",     "ft",
    "%",    "bit/s", "kbit/s", "Mbit/s", "L/h",  "g/s", "Nm",    "lbf_ft", "lambda", "count",
    "km",   "L",     "W",      "kW",     "m/s2", "g",   "deg/s", "N",      "kWh",    "Wh"};

constexpr std::array<std::string_view, 5> kParts = {"shown", "state", "unit", "page", "lamp"};

int UnitCode(std::string_view unit) {
  const auto found = std::find(std::begin(kUnitCodes), std::end(kUnitCodes), unit);
  return found == std::end(kUnitCodes) ? -1 : static_cast<int>(found - std::begin(kUnitCodes));
}

// Half away from zero. The nudge makes a half of what is a half in decimals only: 2.675 is stored
// as 2.67499999999999982, and a person expects 2.68.
double RoundTo(double value, int decimals) {
  const double power = std::pow(10.0, decimals);
  return std::round(value * power + std::copysign(1e-9, value)) / power;
}

// The number, its name, or how much of the bar is lit.
std::string TextOf(const profile::Gauge& set, double shown) {
  if (set.bar) return profile::BarText(*set.bar, static_cast<int>(shown));
  const auto name = set.values.find(std::llround(shown));
  const bool is_named = shown == std::round(shown) && name != set.values.end();
  return is_named ? name->second : fmt::format("{:.{}f}", shown + 0.0, set.decimals);
}

// The bit a person would enter for the same bytes in the other byte order: within one byte the
// signal's other end, over several bytes the outer bit of the first byte.
int StartBitInOrder(const profile::Signal& signal, profile::ByteOrder order) {
  if (order == signal.byte_order) return signal.start_bit;
  const int first_of_byte = signal.start_bit / 8 * 8;
  const int bit = signal.start_bit - first_of_byte;
  const int last = signal.length_bits - 1;
  if (order == profile::ByteOrder::kBig) {
    return bit + last <= 7 ? signal.start_bit + last : first_of_byte + 7;
  }
  return bit - last >= 0 ? signal.start_bit - last : first_of_byte;
}

}  // namespace

std::span<const std::string_view> UnitCodes() { return kUnitCodes; }

std::vector<std::string> DisplayValueNames(const profile::Display& display) {
  std::vector<std::string> names;
  for (const profile::Gauge& gauge : display.gauges) {
    for (const std::string_view part : kParts)
      names.push_back(gauge.name + "." + std::string(part));
  }
  return names;
}

Display::Display(const profile::Bench& bench)
    : bench_(&bench),
      layouts_(bench.display->layouts),
      names_(DisplayValueNames(*bench.display)),
      readings_(bench.display->gauges.size()) {
  for (const profile::Gauge& gauge : bench.display->gauges) {
    Source source;
    source.stale_ns = FromMs(gauge.stale_ms);
    source.message = profile::IndexOf(layouts_, gauge.message);
    source.unit_code = UnitCode(gauge.unit);
    if (source.message >= 0) {
      const profile::Message& message = Nth(layouts_, source.message);
      source.signal = profile::IndexOf(message.signals, gauge.signal);
      if (source.signal >= 0) {
        const std::string& unit = Nth(message.signals, source.signal).unit;
        source.factor = ConvertDifference(1, unit, gauge.unit).value_or(1);
        source.offset = Convert(0, unit, gauge.unit).value_or(0);
      }
    }
    if (source.signal >= 0) AddToGroup(source.message, sources_.size());
    Find(gauge.acknowledged_by, source.key_message, source.key_signal);
    has_keys_ = has_keys_ || source.key_message >= 0;
    sources_.push_back(source);
  }
  const profile::Switching& set = bench.display->switching;
  Find(set.key, key_message_, key_signal_);
  has_keys_ = has_keys_ || key_message_ >= 0;
  dark_ns_ = FromMs(set.dark_ms);
  lamps_tried_ns_ = FromMs(set.dark_ms + set.lamp_test_ms);
  off_after_ns_ = FromMs(set.off_after_ms);
}

// "body.key" in its own layouts.
void Display::Find(const std::string& ref, int& message, int& signal) const {
  const auto dot = ref.find('.');
  if (dot == std::string::npos) return;
  message = profile::IndexOf(layouts_, std::string_view(ref).substr(0, dot));
  if (message < 0) return;
  signal = profile::IndexOf(Nth(layouts_, message).signals, std::string_view(ref).substr(dot + 1));
  if (signal < 0) message = -1;
}

void Display::AddToGroup(int message, std::size_t gauge) {
  const auto known = std::find_if(groups_.begin(), groups_.end(),
                                  [message](const Group& g) { return g.message == message; });
  if (known != groups_.end()) {
    known->gauges.push_back(gauge);
  } else {
    groups_.push_back({message, {gauge}});
  }
}

void Display::OnFrame(const bus::TimedFrame& timed) {
  if (timed.frame.error || timed.frame.remote) return;
  now_ns_ = timed.t_ns;
  if (on_ns_ < 0) on_ns_ = now_ns_;
  if (has_keys_) HearKeys(timed);
  if (IsDark(now_ns_)) return;
  for (const Group& group : groups_) {
    const profile::Message& message = Nth(layouts_, group.message);
    if (!bus::Matches(message, timed.frame)) continue;
    for (const std::size_t gauge : group.gauges) {
      const Source& source = sources_[gauge];
      const auto value = bus::Decode(message, source.signal, timed.frame);
      if (value) {
        Show(gauge, *value * source.factor + source.offset, timed.t_ns);
      } else if (bus::SaysNotAvailable(message, source.signal, timed.frame)) {
        ShowNone(gauge, timed.t_ns);
      }
    }
  }
}

// ---- keys -------------------------------------------------------------------------------------

void Display::HearKeys(const bus::TimedFrame& timed) {
  const auto said = [&](int message, int signal) -> std::optional<double> {
    if (message < 0 || !bus::Matches(Nth(layouts_, message), timed.frame)) return std::nullopt;
    return bus::Decode(Nth(layouts_, message), signal, timed.frame);
  };
  if (const auto key = said(key_message_, key_signal_)) TurnKey(*key != 0, timed.t_ns);
  for (std::size_t i = 0; i < sources_.size(); ++i) {
    if (said(sources_[i].key_message, sources_[i].key_signal).value_or(0) != 0) Acknowledge(i);
  }
}

void Display::TurnKey(bool on, TimeNs t_ns) {
  if (!on && key_off_ns_ < 0) key_off_ns_ = t_ns;
  if (!on) return;
  if (key_off_ns_ >= 0 && IsDark(t_ns)) {
    Reset();
    on_ns_ = t_ns;
  }
  key_off_ns_ = -1;
}

void Display::Acknowledge(std::size_t index) {
  Source& source = sources_[index];
  source.latched = false;
  source.acknowledged = source.above || source.below;
  source.kept.reset();
}

bool Display::IsDark(TimeNs t_ns) const {
  if (on_ns_ >= 0 && t_ns - on_ns_ < dark_ns_) return true;
  return key_off_ns_ >= 0 && t_ns - key_off_ns_ >= off_after_ns_;
}

bool Display::TriesLamps(TimeNs t_ns) const {
  return on_ns_ >= 0 && !IsDark(t_ns) && t_ns - on_ns_ < lamps_tried_ns_;
}

// ---- values -----------------------------------------------------------------------------------

void Display::ShowNone(std::size_t index, TimeNs t_ns) {
  readings_[index].last_ns = t_ns;
  readings_[index].state = GaugeState::kNotAvailable;
  sources_[index].above = sources_[index].below = sources_[index].acknowledged = false;
}

void Display::Show(std::size_t index, double value, TimeNs t_ns) {
  const profile::Gauge& gauge = bench_->display->gauges[index];
  GaugeReading& reading = readings_[index];
  Source& source = sources_[index];
  if (gauge.keeps != profile::Keeps::kNothing) {
    const double kept = source.kept.value_or(value);
    value = gauge.keeps == profile::Keeps::kHighest ? std::max(kept, value) : std::min(kept, value);
    source.kept = value;
  }
  double held = value;
  if (gauge.min) held = std::max(held, *gauge.min);
  if (gauge.max) held = std::min(held, *gauge.max);
  reading.shown = gauge.bar ? LitSegments(*gauge.bar, held) : RoundTo(held, gauge.decimals);
  reading.last_ns = t_ns;
  // Each limit lets go only a hysteresis back inside it.
  if (gauge.warn_above) {
    source.above = IsAbove(value, *gauge.warn_above - (source.above ? gauge.hysteresis : 0));
  }
  if (gauge.warn_below) {
    const double back = source.below ? gauge.hysteresis_below.value_or(gauge.hysteresis) : 0;
    source.below = IsAbove(*gauge.warn_below + back, value);
  }
  const bool warns = source.above || source.below;
  reading.state = warns ? GaugeState::kWarning : GaugeState::kOk;
  source.acknowledged = source.acknowledged && warns;
  source.latched = source.latched || (gauge.lamp_latches && warns && !source.acknowledged);
}

void Display::Advance(TimeNs t_ns) {
  now_ns_ = t_ns;
  if (on_ns_ < 0) on_ns_ = t_ns;
  if (IsDark(t_ns)) {
    for (GaugeReading& reading : readings_) reading.state = GaugeState::kOff;
    return;
  }
  for (std::size_t i = 0; i < readings_.size(); ++i) {
    GaugeReading& reading = readings_[i];
    if (reading.last_ns < 0 || t_ns - reading.last_ns > sources_[i].stale_ns) {
      reading.state = GaugeState::kStale;
    }
  }
}

void Display::Reset() {
  std::fill(readings_.begin(), readings_.end(), GaugeReading());
  for (Source& source : sources_) {
    source.above = source.below = source.latched = source.acknowledged = false;
    source.kept.reset();
  }
  on_ns_ = key_off_ns_ = -1;
}

int Display::ValueIndex(std::string_view name) const {
  const auto found = std::find(names_.begin(), names_.end(), name);
  return found == names_.end() ? -1 : static_cast<int>(found - names_.begin());
}

double Display::Value(int index) const {
  if (index < 0 || index >= static_cast<int>(names_.size())) return 0;
  const auto at = AsSize(index);
  const std::size_t gauge = at / kParts.size();
  switch (at % kParts.size()) {
    case 0:
      return readings_[gauge].shown;
    case 1:
      return static_cast<double>(readings_[gauge].state);
    case 2:
      return sources_[gauge].unit_code;
    case 3:
      return bench_->display->gauges[gauge].page;
    default:
      break;
  }
  const GaugeLook look = Look(static_cast<int>(gauge));
  if (look.lamp.empty()) return 0;
  return look.blinks_hz > 0 ? 2 : 1;
}

GaugeLook Display::Look(int gauge) const {
  const profile::Gauge& set = Nth(bench_->display->gauges, gauge);
  const GaugeReading& reading = Nth(readings_, gauge);
  const Source& source = Nth(sources_, gauge);
  GaugeLook look{set.page, set.dashes, set.unit, reading.state, ""};
  if (reading.state == GaugeState::kOff) {
    look.text = look.unit = "";
    return look;
  }
  const bool warns = reading.state == GaugeState::kWarning;
  if (warns || source.latched || TriesLamps(now_ns_)) look.lamp = set.lamp;
  const bool blinks = !look.lamp.empty() && (warns || source.latched) && !source.acknowledged;
  if (blinks && !TriesLamps(now_ns_)) look.blinks_hz = set.lamp_blinks_hz;
  if (reading.state == GaugeState::kNotAvailable) {
    look.text = set.not_available.empty() ? set.dashes : set.not_available;
  }
  if (reading.state == GaugeState::kOk || warns) look.text = TextOf(set, reading.shown);
  return look;
}

void Display::SetLayout(const std::string& at, const profile::fault::Layout& layout,
                        bool in_force) {
  const auto dot = at.find('.');
  if (dot == std::string::npos) return;
  const int m = profile::IndexOf(layouts_, std::string_view(at).substr(0, dot));
  if (m < 0) return;
  profile::Message& message = Nth(layouts_, m);
  const int s = profile::IndexOf(message.signals, std::string_view(at).substr(dot + 1));
  if (s < 0) return;
  profile::Signal& signal = Nth(message.signals, s);
  signal = Nth(Nth(bench_->display->layouts, m).signals, s);
  if (!in_force) return;
  if (layout.byte_order) {
    signal.start_bit = StartBitInOrder(signal, *layout.byte_order);
    signal.byte_order = *layout.byte_order;
  }
  if (layout.start_bit) signal.start_bit = *layout.start_bit;
  if (layout.scale) signal.scale = *layout.scale;
  if (layout.offset) signal.offset = *layout.offset;
}

}  // namespace drycrank::standin
