// SPDX-License-Identifier: Apache-2.0
#include "diagnose/reports.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "bus/layout.h"
#include "standin/controller.h"
#include "standin/power_channels.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
constexpr double kSame = 1e-6;  // relative: below what any message resolves
constexpr TimeNs kSentNs = kNsPerS;

int Find(const std::vector<std::string>& names, const std::string& name) {
  const auto at = std::find(names.begin(), names.end(), name);
  return at == names.end() ? -1 : static_cast<int>(at - names.begin());
}

bool IsMissing(const std::string& message, std::span<const profile::Fault> faults) {
  return std::any_of(faults.begin(), faults.end(), [&](const profile::Fault& fault) {
    return fault.Is<profile::fault::MessageMissing>() && fault.at == message;
  });
}

bool Same(double a, double b) { return a == b || std::abs(a - b) <= kSame * (1 + std::abs(b)); }

bool Same(const Prediction& a, const Prediction& b) {
  return a.kind() == b.kind() && Same(a.low(), b.low()) && Same(a.high(), b.high());
}

std::vector<double> LowsOf(const ControllerValues& values) {
  std::vector<double> lows;
  for (std::size_t v = 0; v < values.size(); ++v) lows.push_back(values[v].low());
  return lows;
}

std::vector<double> HighsOf(const ControllerValues& values) {
  std::vector<double> highs;
  for (std::size_t v = 0; v < values.size(); ++v) highs.push_back(values[v].high());
  return highs;
}

bool AtRest(const ControllerValues& values) {
  for (std::size_t v = 0; v < values.size(); ++v) {
    if (!values[v].is_value()) return false;
  }
  return true;
}

}  // namespace

ReportModel::ReportModel(const profile::Bench& bench, const std::vector<Reading>& readings)
    : bench_(bench),
      readings_(readings),
      value_names_(standin::ControllerValueNames(*bench.controller)) {
  if (bench.display) shown_names_ = standin::DisplayValueNames(*bench.display);
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    for (const profile::Message& message : bench.buses[b].messages) {
      const int bus = static_cast<int>(b);
      if (message.sender == profile::Sender::kSimulator)
        by_simulator_.push_back(MakeSent(bus, message));
      if (message.sender == profile::Sender::kController)
        by_controller_.push_back(MakeSent(bus, message));
      if (message.sender == profile::Sender::kDisplay && bench.display) {
        by_display_.push_back(MakeSent(bus, message));
      }
    }
  }
  sent_with_.resize(value_names_.size());
  for (std::size_t m = 0; m < by_controller_.size(); ++m) {
    for (const int source : by_controller_[m].sources) {
      if (source >= 0) Nth(sent_with_, source).push_back(static_cast<int>(m));
    }
  }
  for (const Reading& reading : readings) {
    const profile::Message& message =
        profile::MessageAt(bench, {reading.signal.bus, reading.signal.message});
    std::string carries = reading.carries;
    reading_gauges_.push_back(-1);
    if (message.sender == profile::Sender::kDisplay) {
      const int gauge =
          profile::IndexOf(bench.display->gauges, carries.substr(0, carries.find('.')));
      reading_gauges_.back() = gauge;
      carries.clear();
      if (gauge >= 0) {
        const profile::Gauge& g = Nth(bench.display->gauges, gauge);
        const profile::SignalRef ref = profile::FindSignal(bench, g.message + "." + g.signal);
        if (ref.signal >= 0) {
          carries = profile::SignalAt(bench, ref).carries;
        }
      }
    }
    reading_sources_.push_back(Find(value_names_, carries));
  }
}

ReportModel::Sent ReportModel::MakeSent(int bus, const profile::Message& message) const {
  Sent sent{bus, &message, {}, {}, {}};
  for (const profile::Signal& signal : message.signals) {
    sent.sources.push_back(SourceIn(message, signal));
  }
  for (std::size_t r = 0; r < readings_.size(); ++r) {
    const profile::SignalRef& ref = readings_[r].signal;
    if (ref.bus != bus) continue;
    const auto& messages = Nth(bench_.buses, bus).messages;
    if (&Nth(messages, ref.message) == &message) {
      sent.readings.push_back(static_cast<int>(r));
    }
  }
  if (!bench_.display || message.sender == profile::Sender::kDisplay) return sent;
  const std::vector<double> zeros(message.signals.size(), 0);
  const bus::Frame frame = bus::Encode(message, zeros, 0);
  for (std::size_t g = 0; g < bench_.display->gauges.size(); ++g) {
    const int layout = profile::IndexOf(bench_.display->layouts, bench_.display->gauges[g].message);
    if (layout < 0) continue;
    if (bus::Matches(Nth(bench_.display->layouts, layout), frame)) {
      sent.gauges.push_back(static_cast<int>(g));
    }
  }
  return sent;
}

int ReportModel::SourceIn(const profile::Message& message, const profile::Signal& signal) const {
  if (signal.carries.empty()) return -1;
  if (message.sender == profile::Sender::kController) return Find(value_names_, signal.carries);
  if (message.sender == profile::Sender::kDisplay) return Find(shown_names_, signal.carries);
  const int stimulus = profile::IndexOf(bench_.stimuli, signal.carries);
  const int power = stimulus < 0 ? Find(standin::PowerValueNames(bench_), signal.carries) : -1;
  return power < 0 ? stimulus : static_cast<int>(bench_.stimuli.size()) + power;
}

std::unique_ptr<standin::Display> ReportModel::MakeDisplay() const {
  return bench_.display ? std::make_unique<standin::Display>(bench_) : nullptr;
}

bus::TimedFrame ReportModel::FrameOf(const Sent& sent, std::span<const double> values) const {
  std::vector<double> physical;
  physical.reserve(sent.sources.size());
  for (const int source : sent.sources) {
    physical.push_back(source < 0 ? 0 : Nth(values, source));
  }
  return {kSentNs, sent.bus, true, bus::Encode(*sent.message, physical, 0)};
}

double ReportModel::Read(int reading, const Sent& sent, const bus::TimedFrame& frame) const {
  return bus::Decode(*sent.message, Nth(readings_, reading).signal.signal, frame.frame)
      .value_or(kNothing);
}

void ReportModel::Shown(const standin::Display& display, std::vector<double>& values) const {
  values.resize(shown_names_.size());
  for (std::size_t i = 0; i < values.size(); ++i) values[i] = display.Value(static_cast<int>(i));
}

Values ReportModel::Row(std::span<const double> values, const Situation& situation,
                        std::span<const profile::Fault> faults, standin::Display* display,
                        Of of) const {
  Values row(readings_.size(), kNothing);
  if (display != nullptr) display->Reset();
  const auto send = [&](const std::vector<Sent>& list, std::span<const double> carried) {
    const bool by_display = &list == &by_display_, read = by_display || of == Of::kAll;
    for (const Sent& sent : list) {
      if (!read && sent.gauges.empty()) continue;
      if (IsMissing(sent.message->name, faults)) continue;
      const bus::TimedFrame frame = FrameOf(sent, carried);
      if (display != nullptr && !by_display) display->OnFrame(frame);
      if (!read) continue;
      for (const int r : sent.readings) Nth(row, r) = Read(r, sent, frame);
    }
  };
  Values by_simulator = situation.stimuli;  // and behind them what power nodes say
  const auto power = standin::PowerValuesAtOnce(bench_, situation.stimuli);
  by_simulator.insert(by_simulator.end(), power.begin(), power.end());
  send(by_simulator_, by_simulator);
  if (!values.empty()) send(by_controller_, values);
  if (display == nullptr) return row;
  display->Advance(kSentNs + kNsPerMs);
  std::vector<double> shown;
  Shown(*display, shown);
  send(by_display_, shown);
  return row;
}

// From what comes with all restless values at their least and at their greatest.
Prediction ReportModel::Between(int reading, const ControllerValues& values, double a,
                                double b) const {
  if (std::isnan(a) && std::isnan(b)) return Prediction::None();
  if (std::isnan(a)) a = b;
  if (std::isnan(b)) b = a;
  const int source = Nth(reading_sources_, reading);
  const bool restless = !values.empty() && source >= 0 && Nth(values, source).is_restless();
  if (restless) return Prediction::Restless(a, b);
  return a == b ? Prediction::Value(a) : Prediction::Band(a, b);
}

Predictions ReportModel::All(const ControllerValues& values, const Situation& situation,
                             std::span<const profile::Fault> faults, standin::Display* display,
                             Of of) const {
  const Values low = Row(LowsOf(values), situation, faults, display, of);
  const Values high = AtRest(values) ? low : Row(HighsOf(values), situation, faults, display, of);
  Predictions row;
  for (std::size_t r = 0; r < low.size(); ++r) {
    row.push_back(Between(static_cast<int>(r), values, low[r], high[r]));
  }
  return row;
}

void ReportModel::RowOf(std::span<const double> values, const std::vector<bool>& sent_anew,
                        standin::Display* display, Values& row) const {
  std::vector<bool> shown_anew(bench_.display ? bench_.display->gauges.size() : 0, false);
  bool any_shown = false;
  for (std::size_t m = 0; m < by_controller_.size(); ++m) {
    if (!sent_anew[m]) continue;
    const Sent& sent = by_controller_[m];
    const bus::TimedFrame frame = FrameOf(sent, values);
    for (const int r : sent.readings) Nth(row, r) = Read(r, sent, frame);
    if (sent.gauges.empty()) continue;
    if (!any_shown) display->Reset();
    any_shown = true;
    display->OnFrame(frame);
    for (const int gauge : sent.gauges) Nth(shown_anew, gauge) = true;
  }
  if (!any_shown) return;
  display->Advance(kSentNs + kNsPerMs);
  std::vector<double> shown;
  Shown(*display, shown);
  for (const Sent& sent : by_display_) {
    const bus::TimedFrame frame = FrameOf(sent, shown);
    for (const int r : sent.readings) {
      const int gauge = Nth(reading_gauges_, r);
      if (gauge < 0 || !Nth(shown_anew, gauge)) continue;
      Nth(row, r) = Read(r, sent, frame);
    }
  }
}

void ReportModel::Changed(const ControllerValues& values, const ControllerValues& healthy,
                          const Predictions& row, standin::Display* display,
                          std::vector<Change>& changes) const {
  std::vector<bool> sent_anew(by_controller_.size(), false);
  bool any = false;
  ControllerValues::WhereApart(values, healthy, [&](std::size_t v) {
    if (Same(values[v], healthy[v])) return;
    any = true;
    for (const int m : sent_with_[v]) Nth(sent_anew, m) = true;
  });
  if (!any) return;
  // Readings that are not sent anew keep a mark that nothing sends.
  constexpr double kUntouched = std::numeric_limits<double>::infinity();
  Values low(readings_.size(), kUntouched);
  RowOf(LowsOf(values), sent_anew, display, low);
  Values high = low;
  if (!AtRest(values)) RowOf(HighsOf(values), sent_anew, display, high);
  for (std::size_t r = 0; r < low.size(); ++r) {
    if (low[r] == kUntouched) continue;
    const Prediction now = Between(static_cast<int>(r), values, low[r], high[r]);
    if (!(now == row[r])) changes.push_back({static_cast<int>(r), now});
  }
}

}  // namespace drycrank::diagnose
