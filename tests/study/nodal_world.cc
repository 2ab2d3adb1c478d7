// SPDX-License-Identifier: Apache-2.0
#include "tests/study/nodal_world.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace drycrank::study {
namespace {

namespace expect = profile::expect;
using check::Outcome;

constexpr double kHeardS = 0.1;           // after what settles, until a message has come for sure
constexpr double kWorstBeforeEnd = 0.02;  // s: where in a step its report is taken to lie

double AtVolts(const Points& table, double volts) {
  if (volts <= table.front().first) return table.front().second;
  for (std::size_t i = 1; i < table.size(); ++i) {
    const auto& [x0, y0] = table[i - 1];
    const auto& [x1, y1] = table[i];
    if (volts <= x1) return y0 + (y1 - y0) * (volts - x0) / (x1 - x0);
  }
  return table.back().second;
}

std::size_t InputOf(const profile::Controller& controller, const std::string& terminal) {
  for (std::size_t i = 0; i < controller.inputs.size(); ++i) {
    if (controller.inputs[i].terminal == terminal) return i;
  }
  throw std::logic_error("a channel without an input");
}

// What of a value is left in its frame.
double AsSent(const profile::Signal& signal, double value) {
  if (signal.is_float) return static_cast<double>(static_cast<float>(value));
  const double most = std::pow(2.0, signal.length_bits) - 1;
  const double raw = std::round((value - signal.offset) / signal.scale);
  return std::clamp(raw, 0.0, most) * signal.scale + signal.offset;
}

// How far a report is from violating what is expected.
struct Margin {
  double margin = 0, wanted = 0, tolerance = 0;
  bool met = false;
};
Margin MarginOf(const expect::Follows& follows, const std::vector<double>& stimuli,
                double reported) {
  const double wanted = stimuli[static_cast<std::size_t>(follows.target.stimulus)];
  const double margin = follows.target.tolerance - std::abs(reported - wanted);
  return {margin, wanted, follows.target.tolerance, margin >= 0};
}
Margin MarginOf(const profile::Condition& condition, double reported) {
  if (condition.compare == profile::Compare::kAbove) {
    const double margin = reported - condition.value;
    return {margin, condition.value, 0, margin > 0};
  }
  if (condition.compare != profile::Compare::kEqual)
    throw std::logic_error("a condition not known");
  const double margin = reported == condition.value ? 0 : -std::abs(reported - condition.value);
  return {margin, condition.value, 0, margin == 0};
}

profile::SignalRef SignalOf(const profile::Expectation& expectation) {
  if (const auto* follows = std::get_if<expect::Follows>(&expectation.kind)) return follows->signal;
  return std::get<expect::Always>(expectation.kind).condition.signal;
}

Margin MarginOf(const profile::Expectation& expectation, const std::vector<double>& stimuli,
                double reported) {
  if (const auto* follows = std::get_if<expect::Follows>(&expectation.kind)) {
    return MarginOf(*follows, stimuli, reported);
  }
  return MarginOf(std::get<expect::Always>(expectation.kind).condition, reported);
}

bool IsJudged(const profile::Expectation& expectation, const profile::Step& step) {
  const auto& during = expectation.during;
  if (!during.empty() && std::ranges::count(during, step.name) == 0) return false;
  return step.for_s >= expectation.settle_s + kHeardS;
}

}  // namespace

NodalWorld::NodalWorld(const profile::Bench& bench, const profile::Scenario& scenario)
    : bench_(bench), scenario_(scenario) {
  std::vector<double> now;
  for (const profile::Stimulus& stimulus : bench.stimuli) now.push_back(stimulus.initial);
  TimeNs t_ns = 0;
  for (const profile::Step& step : scenario.steps) {
    for (const profile::Drive& drive : step.drives) {
      if (drive.kind != profile::DriveKind::kHold) throw std::logic_error("a drive that moves");
      now[static_cast<std::size_t>(drive.stimulus)] = drive.to;
    }
    stimuli_.push_back(now);
    const TimeNs end_ns = t_ns + FromSeconds(step.for_s);
    steps_.push_back({step.name, t_ns, end_ns, ""});
    t_ns = end_ns;
  }
}

NodalWorld::Values NodalWorld::ValuesAt(std::size_t step, const Cut& cut) const {
  const profile::Controller& c = *bench_.controller;
  const Volts volts = VoltsOf(bench_, cut, stimuli_[step]);
  Values values;
  if (volts.supply_v < c.min_supply_v) return values;
  values["supply_voltage"] = volts.supply_v;
  for (const profile::AnalogChannel& channel : c.analog) {
    double volt = volts.input_v[InputOf(c, channel.terminal)];
    // Less than a tenth of the nominal reference is taken for a tenth.
    const double nominal = c.references[0].voltage_v;
    if (channel.ratiometric) volt *= nominal / std::max(volts.reference_v[0], 0.1 * nominal);
    const bool in_range = volt >= channel.low_v && volt <= channel.high_v;
    values[channel.name] = in_range ? AtVolts(channel.value_at_volts, volt) : channel.fallback;
  }
  if (c.triggers.empty() || stimuli_[step][0] <= 0) return values;
  const profile::TriggerChannel& crank = c.triggers[0];
  const std::size_t input = InputOf(c, crank.terminal);
  const double off_v = volts.input_v[input];
  const double on_v = VoltsOf(bench_, cut, stimuli_[step], true).input_v[input];
  const bool seen = std::max(on_v, off_v) >= crank.high_v && std::min(on_v, off_v) <= crank.low_v;
  values["engine_speed"] = seen ? stimuli_[step][0] : 0;
  values["sync_state"] = seen ? 3 : 0;
  return values;
}

std::optional<double> NodalWorld::Received(const profile::SignalRef& at,
                                           const Values& values) const {
  if (values.empty()) return std::nullopt;
  const profile::Signal& signal = profile::SignalAt(bench_, at);
  return AsSent(signal, values.at(signal.carries));
}

check::Verdict NodalWorld::Judge(std::size_t e, const std::vector<Values>& values) const {
  const profile::Expectation& expectation = scenario_.expectations[e];
  check::Verdict verdict;
  verdict.expectation = static_cast<int>(e);
  for (std::size_t s = 0; s < steps_.size(); ++s) {
    if (!IsJudged(expectation, scenario_.steps[s])) continue;
    const auto reported = Received(SignalOf(expectation), values[s]);
    if (!reported) continue;
    const Margin margin = MarginOf(expectation, stimuli_[s], *reported);
    const TimeNs t_ns = steps_[s].end_ns - FromSeconds(kWorstBeforeEnd);
    if (verdict.judged == 0 || margin.margin < verdict.margin) {
      verdict.margin = margin.margin;
      verdict.allowed = margin.tolerance;
      verdict.worst_ns = t_ns;
    }
    if (verdict.judged == 0) verdict.outcome = Outcome::kMet;
    if (!margin.met) verdict.outcome = Outcome::kFailed;
    ++verdict.judged;
    verdict.evidence.points.push_back({t_ns, *reported, margin.wanted, margin.tolerance});
  }
  return verdict;
}

std::vector<check::Verdict> NodalWorld::Verdicts(const Cut& cut) const {
  std::vector<Values> values(steps_.size());
  for (std::size_t s = 0; s < steps_.size(); ++s) {
    const bool judged = std::ranges::any_of(
        scenario_.expectations, [&](const auto& e) { return IsJudged(e, scenario_.steps[s]); });
    if (judged) values[s] = ValuesAt(s, cut);
  }
  std::vector<check::Verdict> verdicts;
  for (std::size_t e = 0; e < scenario_.expectations.size(); ++e) {
    verdicts.push_back(Judge(e, values));
  }
  return verdicts;
}

bool AnyViolated(const std::vector<check::Verdict>& verdicts) {
  return std::ranges::any_of(verdicts, [](const check::Verdict& verdict) {
    return verdict.outcome == Outcome::kFailed || verdict.outcome == Outcome::kNotObserved;
  });
}

}  // namespace drycrank::study
