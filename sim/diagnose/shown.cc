// SPDX-License-Identifier: Apache-2.0
#include "diagnose/shown.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <set>

#include "bus/layout.h"
#include "diagnose/weigh.h"
#include "standin/controller.h"
#include "standin/power_channels.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr TimeNs kSentNs = kNsPerS;
constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
constexpr double kShareOfSigma = 0.3, kDigits = 0.6;
constexpr double kBadShare = 0.25, kStateShare = 0.3;

}  // namespace

Shown::Shown(const Predictor& predictor, const Observation& observed)
    : predictor_(predictor), observed_(observed) {
  const profile::Bench& bench = predictor.bench();
  if (!bench.display) return;
  display_ = std::make_unique<standin::Display>(bench);
  for (std::size_t r = 0; r < predictor.readings().size(); ++r) {
    const Reading& reading = predictor.readings()[r];
    const profile::SignalRef& ref = reading.signal;
    if (profile::MessageAt(bench, {ref.bus, ref.message}).sender != profile::Sender::kDisplay) {
      continue;
    }
    const int value = display_->ValueIndex(reading.carries);
    if (value < 0) continue;
    const int gauge = profile::IndexOf(bench.display->gauges,
                                       reading.carries.substr(0, reading.carries.find('.')));
    const double digit =
        gauge < 0 ? 1 : std::pow(10.0, -Nth(bench.display->gauges, gauge).decimals);
    const double step = std::max(digit, std::abs(profile::SignalAt(bench, ref).scale));
    const double deviation = std::max(kShareOfSigma * reading.sigma, kDigits * step);
    const int sent = gauge < 0 ? -1 : SentTo(Nth(bench.display->gauges, gauge));
    for (std::size_t s = 0; s < observed.size(); ++s) {
      facts_.push_back({s, r, value, gauge, sent, observed[s][r], deviation, 200 * reading.sigma,
                        reading.discrete});
    }
  }
  healthy_.shown = Predicted({});
  Judge(healthy_);
}

// Which of the controller's values a gauge shows; -1: none.
int Shown::SentTo(const profile::Gauge& gauge) const {
  const profile::Bench& bench = predictor_.bench();
  const std::vector<std::string> names = standin::ControllerValueNames(*bench.controller);
  for (const profile::Bus& bus : bench.buses) {
    const int message = profile::IndexOf(bus.messages, gauge.message);
    if (message < 0) continue;
    const auto& signals = Nth(bus.messages, message).signals;
    const int signal = profile::IndexOf(signals, gauge.signal);
    if (signal < 0) continue;
    const auto at = std::ranges::find(names, Nth(signals, signal).carries);
    if (at != names.end()) return static_cast<int>(at - names.begin());
  }
  return -1;
}

// All messages that came, as they came, to a display that was just switched on.
void Shown::Send(std::size_t situation) {
  const profile::Bench& bench = predictor_.bench();
  const std::vector<std::string> power_names = standin::PowerValueNames(bench);
  display_->Reset();
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    for (std::size_t m = 0; m < bench.buses[b].messages.size(); ++m) {
      const profile::Message& message = bench.buses[b].messages[m];
      if (message.sender == profile::Sender::kDisplay) continue;
      std::vector<double> physical(message.signals.size(), 0);
      bool came = message.sender == profile::Sender::kSimulator;
      for (std::size_t r = 0; r < predictor_.readings().size(); ++r) {
        const profile::SignalRef& ref = predictor_.readings()[r].signal;
        if (ref.bus != static_cast<int>(b) || ref.message != static_cast<int>(m)) continue;
        const double seen = observed_[situation][r];
        if (std::isnan(seen)) continue;
        came = true;
        Nth(physical, ref.signal) = seen;
      }
      for (std::size_t i = 0; i < physical.size(); ++i) {
        if (message.sender != profile::Sender::kSimulator) continue;
        const auto& stimuli = predictor_.situations()[situation].stimuli;
        const int stimulus = profile::IndexOf(bench.stimuli, message.signals[i].carries);
        if (stimulus >= 0) physical[i] = Nth(stimuli, stimulus);
        const auto power = std::ranges::find(power_names, message.signals[i].carries);
        if (power == power_names.end()) continue;
        const auto at = AsSize(power - power_names.begin());
        physical[i] = standin::PowerValuesAtOnce(bench, stimuli)[at];
      }
      if (!came) continue;
      display_->OnFrame({kSentNs, static_cast<int>(b), true, bus::Encode(message, physical, 0)});
    }
  }
  display_->Advance(kSentNs + kNsPerMs);
}

// As the display's own message can carry it.
double Shown::AsSent(const Fact& fact, double value) const {
  const profile::Signal& signal =
      profile::SignalAt(predictor_.bench(), predictor_.readings()[fact.reading].signal);
  std::uint8_t data[64] = {};
  bus::InsertBits(signal, bus::BitsFor(signal, value), data);
  return bus::PhysicalValue(signal, data);
}

std::vector<double> Shown::Predicted(const std::vector<profile::Fault>& faults) {
  const auto set = [&](bool in_force) {
    for (const profile::Fault& fault : faults) {
      const auto* layout = fault.As<profile::fault::Layout>();
      if (layout != nullptr) display_->SetLayout(fault.at, *layout, in_force);
    }
  };
  std::vector<double> shown(facts_.size(), kNothing);
  set(true);
  for (std::size_t s = 0; s < observed_.size(); ++s) {
    Send(s);
    for (std::size_t f = 0; f < facts_.size(); ++f) {
      if (facts_[f].situation == s) shown[f] = AsSent(facts_[f], display_->Value(facts_[f].value));
    }
  }
  set(false);
  return shown;
}

double Shown::CostOf(const Fact& fact, double predicted, bool& glitch) const {
  if (std::isnan(fact.seen)) return 0;  // the display says nothing: no layout's doing
  const double z = std::abs(fact.seen - predicted) / fact.deviation;
  const double width = std::sqrt(2 * std::numbers::pi) * fact.deviation;
  glitch = fact.state ? std::abs(fact.seen - predicted) > 0.5
                      : z * z / 2 + std::log(width) > kGlitch + std::log(fact.span);
  if (fact.state) return glitch ? kGlitch : 0;
  return glitch ? kGlitch + std::log(fact.span) : z * z / 2 + std::log(width);
}

void Shown::Judge(Fit& fit) const {
  fit.log_like = 0;
  fit.glitches = 0;
  for (std::size_t f = 0; f < facts_.size(); ++f) {
    bool glitch = false;
    fit.log_like -= CostOf(facts_[f], fit.shown[f], glitch);
    fit.glitches += glitch;
  }
}

Shown::Fit Shown::Solve(const Hypothesis& hypothesis) {
  Fit fit{hypothesis, {}, 0, 0, 0};
  if (hypothesis.quantity == Quantity::kNone) {
    fit.shown = Predicted(hypothesis.faults);
    Judge(fit);
    return fit;
  }
  // shown = a + b x: b from two sizes beside the right one, then x and its deviation, twice since
  // the display rounds.
  const bool logarithmic = hypothesis.IsLogarithmic();
  double x = logarithmic ? std::sqrt(hypothesis.low * hypothesis.high)
                         : (hypothesis.low + hypothesis.high) / 2;
  const double other = logarithmic ? x * 1.4 : x + 0.05 * (hypothesis.high - hypothesis.low);
  std::vector<double> at = Predicted(WithValue(hypothesis, x).faults);
  std::vector<double> slope = Predicted(WithValue(hypothesis, other).faults);
  double weight = 1e-12;
  for (std::size_t f = 0; f < facts_.size(); ++f) {
    const bool counts = !facts_[f].state && !std::isnan(facts_[f].seen);
    slope[f] = counts ? (slope[f] - at[f]) / (other - x) / facts_[f].deviation : 0;
    weight += slope[f] * slope[f];
  }
  for (int pass = 0; pass < 2; ++pass) {
    double sum = 0;
    for (std::size_t f = 0; f < facts_.size(); ++f) {
      if (slope[f] != 0) sum += slope[f] * (facts_[f].seen - at[f]) / facts_[f].deviation;
    }
    x = std::clamp(x + sum / weight, hypothesis.low, hypothesis.high);
    at = Predicted(WithValue(hypothesis, x).faults);
  }
  fit.hypothesis = WithValue(hypothesis, x);
  fit.shown = at;
  Judge(fit);
  const double range = logarithmic ? std::log(hypothesis.high / hypothesis.low) * std::abs(x)
                                   : hypothesis.high - hypothesis.low;
  const double area = std::sqrt(2 * std::numbers::pi / weight) / std::max(range, 1e-12);
  fit.log_area = std::log(std::clamp(area, 1e-12, 1.0));
  return fit;
}

double Shown::Unknown() const {
  std::set<int> gauges;
  std::set<std::pair<std::size_t, double>> words;
  double log_like = 0;
  for (std::size_t f = 0; f < facts_.size(); ++f) {
    bool glitch = false;
    const double cost = CostOf(facts_[f], healthy_.shown[f], glitch);
    if (!glitch) {
      log_like -= cost;
      continue;
    }
    gauges.insert(facts_[f].gauge);
    if (facts_[f].state) words.emplace(facts_[f].reading, facts_[f].seen);
    if (!facts_[f].state && words.emplace(facts_[f].reading, facts_[f].seen).second) {
      log_like -= std::log(facts_[f].span);
    }
  }
  return log_like + static_cast<double>(gauges.size()) * std::log(kBadShare) +
         static_cast<double>(words.size()) * std::log(kStateShare);
}

bool Shown::Alike(const Fit& a, const Fit& b) const {
  double chi2 = 0;
  for (std::size_t f = 0; f < facts_.size(); ++f) {
    const double off = std::abs(a.shown[f] - b.shown[f]);
    if (facts_[f].state && off > 0.5) return false;
    if (!facts_[f].state) chi2 += off * off / (facts_[f].deviation * facts_[f].deviation);
  }
  return chi2 < 6;
}

int Shown::Passing(const Fit& fit, const PredictedRows& rows) const {
  int passing = 0;
  for (std::size_t f = 0; f < facts_.size(); ++f) {
    const Fact& fact = facts_[f];
    bool glitch = false;
    CostOf(fact, fit.shown[f], glitch);
    const Prediction& row = rows[fact.situation][fact.reading];
    passing += glitch && row.is_restless() && row.Distance(fact.seen) <= fact.deviation;
  }
  return passing;
}

double Shown::Spared(const Fit& fit, const std::vector<ControllerValues>& rows) const {
  double spared = 0;
  for (std::size_t f = 0; f < facts_.size(); ++f) {
    const Fact& fact = facts_[f];
    if (fact.sent < 0 || rows[fact.situation].empty()) continue;
    if (!Nth(rows[fact.situation], fact.sent).is_restless()) continue;
    bool glitch = false;
    const double cost = CostOf(fact, fit.shown[f], glitch);
    const double any = fact.state ? -std::log(kStateShare) : std::log(fact.span);
    if (glitch) spared += std::max(0.0, cost - any);
  }
  return spared;
}

// What comes and goes was another when the display's own message was sent.
void Shown::Fill(const Fit& fit, PredictedRows& rows) const {
  for (std::size_t f = 0; f < facts_.size(); ++f) {
    Prediction& row = rows[facts_[f].situation][facts_[f].reading];
    if (!row.is_restless()) row = Prediction::Value(fit.shown[f]);
  }
}

}  // namespace drycrank::diagnose
