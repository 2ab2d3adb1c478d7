// SPDX-License-Identifier: Apache-2.0
#include "diagnose/predict.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <string>

#include "bus/layout.h"
#include "diagnose/channels.h"
#include "diagnose/electrical.h"
#include "diagnose/position.h"
#include "standin/controller.h"
#include "standin/display.h"

namespace drycrank::diagnose {
namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
// Between two situations, so that what the display no longer gets goes stale.
constexpr TimeNs kApartNs = 100 * kNsPerS;

}  // namespace

struct Predictor::Impl {
  Impl(const profile::Bench& b, std::vector<Situation> s)
      : bench(b),
        situations(std::move(s)),
        readings(ReadingsOf(b)),
        position(b),
        channels(b),
        names(standin::ControllerValueNames(*b.controller)) {
    for (const Reading& reading : readings) sources.push_back(SourceOf(reading));
  }

  // Sends every message of `sender` to the display and notes the readings in it.
  template <class ValueOf>
  void Send(const std::string& sender, const ValueOf& value_of,
            std::span<const profile::Fault> faults, TimeNs t_ns, standin::Display* display,
            Values& out) const {
    for (std::size_t b = 0; b < bench.buses.size(); ++b) {
      for (std::size_t m = 0; m < bench.buses[b].messages.size(); ++m) {
        const profile::Message& message = bench.buses[b].messages[m];
        if (message.sender != sender || IsMissing(message.name, faults)) continue;
        std::vector<double> physical;
        for (const profile::Signal& signal : message.signals) {
          physical.push_back(signal.carries.empty() ? 0 : value_of(signal.carries));
        }
        const bus::TimedFrame frame{t_ns, static_cast<int>(b), true,
                                    bus::Encode(message, physical, 0)};
        if (display != nullptr && sender != "display") display->OnFrame(frame);
        Note(static_cast<int>(b), static_cast<int>(m), frame.frame, out);
      }
    }
  }

  static bool IsMissing(const std::string& message, std::span<const profile::Fault> faults) {
    for (const profile::Fault& fault : faults) {
      if (fault.kind == profile::FaultKind::kMessageMissing && fault.at == message) return true;
    }
    return false;
  }

  void Note(int bus, int message, const bus::Frame& frame, Values& out) const {
    const profile::Message& layout =
        bench.buses[static_cast<std::size_t>(bus)].messages[static_cast<std::size_t>(message)];
    for (std::size_t r = 0; r < readings.size(); ++r) {
      const profile::SignalRef& signal = readings[r].signal;
      if (signal.bus != bus || signal.message != message) continue;
      out[r] = bus::Decode(layout, signal.signal, frame).value_or(kNothing);
    }
  }

  Values At(const Situation& situation, ElectricalModel& model,
            std::span<const profile::Fault> faults, standin::Display* display, TimeNs t_ns) {
    Values out(readings.size(), kNothing);
    const Electrical& electrical = model.Solve(situation);
    Position stopped;
    stopped.cam_deg.resize(bench.controller->decoder.cams.size());
    const Position& at =
        situation.engine_rpm() > 0 ? position.Find(electrical, model, situation, faults) : stopped;
    ControllerValues values = channels.Settle(electrical, model, at, situation, faults);
    std::vector<std::string> unsteady = at.unsteady;
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (values[i] != kAnything) continue;
      unsteady.push_back(names[i]);
      values[i] = 0;
    }
    const auto stimulus = [&](const std::string& name) {
      const int index = profile::IndexOf(bench.stimuli, name);
      return index < 0 ? 0.0 : situation.stimuli[static_cast<std::size_t>(index)];
    };
    Values unused(readings.size());
    Send("simulator", stimulus, faults, t_ns, display, unused);
    if (!values.empty()) {
      const auto value = [&](const std::string& name) {
        for (std::size_t i = 0; i < names.size(); ++i) {
          if (names[i] == name) return values[i];
        }
        return 0.0;
      };
      Send("controller", value, faults, t_ns, display, out);
    }
    if (display != nullptr) {
      display->Advance(t_ns + kNsPerMs);
      const auto shown = [&](const std::string& name) {
        return display->Value(display->ValueIndex(name));
      };
      Send("display", shown, faults, t_ns, display, out);
    }
    if (!unsteady.empty()) MarkUnsteady(unsteady, out);
    return out;
  }

  // What carries an unsteady value can be anything, if it comes at all.
  void MarkUnsteady(const std::vector<std::string>& values, Values& out) const {
    for (std::size_t r = 0; r < readings.size(); ++r) {
      const std::string& source = sources[r];
      const bool marked = std::find(values.begin(), values.end(), source) != values.end();
      if (marked && !std::isnan(out[r])) out[r] = kAnything;
    }
  }

  // The controller's value that a reading shows, directly or through a gauge.
  std::string SourceOf(const Reading& reading) const {
    const std::size_t dot = reading.carries.find('.');
    if (!bench.display || dot == std::string::npos) return reading.carries;
    const int gauge = profile::IndexOf(bench.display->gauges, reading.carries.substr(0, dot));
    const auto& message = bench.buses[static_cast<std::size_t>(reading.signal.bus)]
                              .messages[static_cast<std::size_t>(reading.signal.message)];
    if (gauge < 0 || message.sender != "display") return reading.carries;
    const profile::Gauge& g = bench.display->gauges[static_cast<std::size_t>(gauge)];
    const profile::SignalRef ref = profile::FindSignal(bench, g.message + "." + g.signal);
    if (ref.signal < 0) return reading.carries;
    return bench.buses[static_cast<std::size_t>(ref.bus)]
        .messages[static_cast<std::size_t>(ref.message)]
        .signals[static_cast<std::size_t>(ref.signal)]
        .carries;
  }

  std::unique_ptr<standin::Display> MakeDisplay(std::span<const profile::Fault> faults) const {
    if (!bench.display) return nullptr;
    auto display = std::make_unique<standin::Display>(bench);
    for (const profile::Fault& fault : faults) {
      if (fault.kind == profile::FaultKind::kLayout) display->SetLayout(fault, true);
    }
    return display;
  }

  const profile::Bench& bench;
  std::vector<Situation> situations;
  std::vector<Reading> readings;
  PositionModel position;
  ChannelModel channels;
  std::vector<std::string> names;
  std::vector<std::string> sources;  // per reading
};

Predictor::Predictor(const profile::Bench& bench, std::vector<Situation> situations)
    : impl_(std::make_unique<Impl>(bench, std::move(situations))) {}
Predictor::~Predictor() = default;

const std::vector<Reading>& Predictor::readings() const { return impl_->readings; }
const std::vector<Situation>& Predictor::situations() const { return impl_->situations; }

Observation Predictor::Predict(std::span<const profile::Fault> faults) {
  ElectricalModel model(impl_->bench, faults);
  const auto display = impl_->MakeDisplay(faults);
  Observation rows;
  TimeNs t_ns = 0;
  for (const Situation& situation : impl_->situations) {
    rows.push_back(impl_->At(situation, model, faults, display.get(), t_ns += kApartNs));
  }
  return rows;
}

Values Predictor::PredictAt(const Situation& situation, std::span<const profile::Fault> faults) {
  ElectricalModel model(impl_->bench, faults);
  const auto display = impl_->MakeDisplay(faults);
  return impl_->At(situation, model, faults, display.get(), kApartNs);
}

}  // namespace drycrank::diagnose
