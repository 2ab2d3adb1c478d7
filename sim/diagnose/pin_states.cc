// SPDX-License-Identifier: Apache-2.0
#include "diagnose/pin_states.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "plant/plant.h"
#include "plant/wiring.h"
#include "profile/device_leads.h"
#include "scenario/timeline.h"
#include "standin/conversion.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr std::size_t kMostStates = 3000;
constexpr double kReaches = 0.01;  // a coil with less gain is not heard (plant.h)
constexpr double kSameCoilV = 1e-3, kSameCoil = 1e-3;  // moves an edge by less than its own noise
constexpr double kEqual = 1e-6;
constexpr double kZeroV = 1e-6;  // the rounding of a solution that is 0 V

class NoWaves : public plant::WaveSink {
 public:
  void OnWave(int /*input*/, const Wave& /*piece*/) override {}
};

std::vector<const profile::Fault*> PointersTo(std::span<const profile::Fault> faults) {
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : faults) pointers.push_back(&fault);
  return pointers;
}

// High, low; at zero crossings what arms the comparator, and 0 V.
std::pair<double, double> ThresholdsOf(const profile::TriggerChannel& channel) {
  if (channel.conditioning == profile::Conditioning::kThreshold) {
    return {channel.high_v, channel.low_v};
  }
  if (channel.edge == profile::ActiveEdge::kFalling) return {channel.arm_v, kZeroV};
  return {-kZeroV, -channel.arm_v};
}

std::int64_t In(double step, double value) { return std::llround(value / step); }

}  // namespace

// Notes which device values the network is asked for.
class PinStates::Spy : public plant::NetworkWiring {
 public:
  using NetworkWiring::NetworkWiring;
  void Solve(std::span<const double> values, std::span<double> input_v) override {
    NetworkWiring::Solve(values, input_v);
    const auto [at, is_new] = numbers_.try_emplace({values.begin(), values.end()}, numbers_.size());
    last_ = at->second;
  }
  std::size_t last() const { return last_; }
  const std::map<harness::DeviceValues, std::size_t>& numbers() const { return numbers_; }

 private:
  std::map<harness::DeviceValues, std::size_t> numbers_;
  std::size_t last_ = 0;
};

PinStates::PinStates(const profile::Bench& bench, const profile::Scenario& scenario,
                     std::span<const TimeNs> begins_ns, std::uint64_t seed)
    : bench_(bench) {
  const profile::Controller& controller = *bench.controller;
  for (const profile::TriggerChannel& channel : controller.triggers) {
    const auto [high_v, low_v] = ThresholdsOf(channel);
    edge_inputs_.push_back({standin::InputIndex(controller, channel.terminal), high_v, low_v});
  }
  for (const profile::FrequencyChannel& channel : controller.frequency) {
    edge_inputs_.push_back(
        {standin::InputIndex(controller, channel.terminal), channel.high_v, channel.low_v});
  }
  std::erase_if(edge_inputs_, [](const EdgeInput& at) { return at.input < 0; });
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    if (profile::GivenBy(bench.triggers[i].pickup) == profile::Gives::kCoil) {
      coils_.push_back(static_cast<int>(i));
    }
  }

  scenario::Timeline timeline(bench, scenario);
  Spy spy(bench);
  NoWaves nobody;
  plant::Plant plant(bench, timeline, seed, nobody, spy);
  plant.HearOnly(standin::InputsThatCountEdges(controller));
  std::vector<double> input_v(controller.inputs.size());
  const TimeNs sample_ns = FromMs(controller.sample_ms);
  TimeNs next_ns = 0;
  for (std::size_t step = 0; step + 1 < begins_ns.size() && !too_many_; ++step) {
    while (plant.NextEventNs() < begins_ns[step]) plant.TakeEvent();
    timeline.BeginStep(step, begins_ns[step]);
    plant.OnStep(begins_ns[step]);
    if (step == 0) plant.SetFaults(0, {});
    for (; next_ns < begins_ns[step + 1]; next_ns += sample_ns) {
      while (plant.NextEventNs() <= next_ns) plant.TakeEvent();
      plant.Sample(next_ns, input_v);
      of_sample_.push_back(static_cast<std::uint32_t>(spy.last()));
    }
    too_many_ = spy.numbers().size() > kMostStates || plant.stuck_ns() != kNever;
  }
  values_.resize(spy.numbers().size());
  for (const auto& [values, number] : spy.numbers()) values_[number] = values;
  sampled_.assign(values_.size(), false);
  for (const std::uint32_t state : of_sample_) sampled_[state] = true;
  if (!values_.empty()) variants_.emplace(bench, values_[0]);
}

void PinStates::Fill(std::size_t state, auto& network, Rows& rows) const {
  double* at = rows.numbers_.data() + state * rows.width_;
  for (int i = 0; i < rows.inputs_; ++i) *at++ = network.InputVoltage(i);
  *at++ = network.ControllerSupply();
  for (int r = 0; r < rows.references_; ++r) *at++ = network.Reference(r);
  for (const int coil : coils_) {
    network.Transfer(coil, {at, AsSize(rows.inputs_)});
    at += rows.inputs_;
  }
}

namespace {

// A network of its own, with the questions of a Variant.
class Own {
 public:
  Own(const profile::Bench& bench, plant::Faults faults)
      : harness_(bench, faults), input_v_(harness_.input_count()) {}

  bool Solve(std::span<const double> values) {
    harness_.Solve(values, input_v_);
    return harness_.unsettled_count() == 0;
  }
  double InputVoltage(int input) const { return Nth(input_v_, input); }
  double ControllerSupply() const { return harness_.ControllerSupply(); }
  double Reference(int index) const { return harness_.Reference(index); }
  void Transfer(int coil, std::span<double> gain) { harness_.Transfer(coil, gain); }

 private:
  harness::Harness harness_;
  std::vector<double> input_v_;
};

}  // namespace

PinStates::Rows PinStates::NoRows() const {
  Rows rows;
  rows.inputs_ = static_cast<int>(bench_.controller->inputs.size());
  rows.references_ = static_cast<int>(bench_.controller->references.size());
  rows.width_ = static_cast<std::size_t>(rows.inputs_) * (1 + coils_.size()) + 1 +
                static_cast<std::size_t>(rows.references_);
  rows.numbers_.resize(values_.size() * rows.width_);
  return rows;
}

std::optional<PinStates::Rows> PinStates::Solve(std::span<const profile::Fault> faults) const {
  Rows rows = NoRows();
  const auto pointers = PointersTo(faults);
  Own own(bench_, pointers);
  for (std::size_t s = 0; s < values_.size(); ++s) {
    if (!own.Solve(values_[s])) return std::nullopt;
    Fill(s, own, rows);
  }
  return rows;
}

std::optional<PinStates::Rows> PinStates::Estimate(std::span<const profile::Fault> faults) const {
  std::optional<harness::Variant> variant;
  {
    const std::lock_guard lock(mutex_);
    const auto edit = harness::EditOf(bench_, variants_->topology(), faults);
    if (!edit) return Solve(faults);
    variant.emplace(*variants_).Put(*edit);
  }
  Rows rows = NoRows();
  for (std::size_t s = 0; s < values_.size(); ++s) {
    if (!variant->Solve(values_[s])) return std::nullopt;
    Fill(s, *variant, rows);
  }
  return rows;
}

void PinStates::AddKey(const EdgeInput& at, std::size_t state, const Rows& rows,
                       const Rows& healthy, std::vector<std::int64_t>& key) const {
  const double volts = rows.input_v(state, at.input);
  bool reached = false;
  bool same = std::abs(volts - healthy.input_v(state, at.input)) < kSameCoilV;
  for (int c = 0; c < static_cast<int>(coils_.size()); ++c) {
    const double gain = rows.gain(state, c, at.input);
    reached = reached || std::abs(gain) >= kReaches;
    same = same && std::abs(gain - healthy.gain(state, c, at.input)) < kSameCoil;
  }
  if (!reached) return key.push_back(volts >= at.high_v ? 2 : volts > at.low_v);
  if (same) return key.push_back(3);
  key.insert(key.end(), {4, In(kEqual, volts)});
  for (int c = 0; c < static_cast<int>(coils_.size()); ++c) {
    key.push_back(In(kEqual, rows.gain(state, c, at.input)));
  }
}

std::vector<std::int64_t> PinStates::EdgeKey(const Rows& rows, const Rows& healthy) const {
  std::vector<std::int64_t> key;
  for (std::size_t s = 0; s < values_.size(); ++s) {
    key.push_back(rows.supply_v(s) >= bench_.controller->min_supply_v);
    for (const EdgeInput& at : edge_inputs_) AddKey(at, s, rows, healthy, key);
  }
  return key;
}

template <class Differs>
bool PinStates::SameInAll(Differs differs) const {
  for (std::size_t s = 0; s < values_.size(); ++s) {
    if (sampled_[s] && differs(s)) return false;
  }
  return true;
}

bool PinStates::SameAt(int input, const Rows& a, const Rows& b) const {
  return SameInAll([&](std::size_t s) {
    return std::abs(a.input_v(s, input) - b.input_v(s, input)) > kSameReadingV;
  });
}

bool PinStates::SameSupply(const Rows& a, const Rows& b) const {
  return SameInAll(
      [&](std::size_t s) { return std::abs(a.supply_v(s) - b.supply_v(s)) > kSameReadingV; });
}

bool PinStates::SameReferences(const Rows& a, const Rows& b) const {
  return SameInAll([&](std::size_t s) {
    const auto one = a.reference_v(s), other = b.reference_v(s);
    return !std::ranges::equal(one, other,
                               [](double x, double y) { return std::abs(x - y) <= kSameReadingV; });
  });
}

}  // namespace drycrank::diagnose
