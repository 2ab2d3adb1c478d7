// SPDX-License-Identifier: Apache-2.0
#include "harness/harness.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <limits>

#include "harness/netlist.h"
#include "harness/reduction.h"
#include "harness/topology.h"
#include "types/nth.h"

namespace drycrank::harness {
namespace {

// A supply so near its minimum is measured each time.
constexpr double kRoundingV = 1e-9;

}  // namespace

struct Harness::Impl {
  explicit Impl(Topology made)
      : topology(std::move(made)),
        reduction(topology),
        values(topology.branches.size(), 0),
        states(topology.branches.size()),
        supply_v(topology.branches.size(), 0) {
    PowerUp();
  }

  // Where every Solve begins. An output that fed its own supply could hold itself up once it is on;
  // so the states are found with outputs that drive nothing, beginning from none supplied. Power
  // comes to all at once.
  void PowerUp() {
    for (std::size_t d = 0; d < values.size(); ++d) {
      if (HasStates(topology.branches[d])) {
        outputs.push_back(d);
        if (HasDiode(topology.branches[d])) switches.push_back(d);
        states[d].supplied = false;
      }
      if (topology.branches[d].kind == BranchKind::kResistor) values[d] = 1e3;
      Enter(d);
    }
    reduction.Update();
    FollowSupplies();
    for (const std::size_t d : outputs) states[d] = StateNow(d);
    for (const std::size_t d : outputs) Enter(d);
    Settle();
    start = states;
    at_start = true;
    unsettled = 0;
  }

  void Solve(std::span<const double> wanted) {
    const auto first = std::ranges::mismatch(wanted, std::span(values).first(wanted.size())).in1;
    if (first == wanted.end()) return;
    if (at_start) {
      EnterFrom(AsSize(first - wanted.begin()), wanted);
    } else {
      StartAnew(wanted);
    }
    Settle();
  }

  // All states are where they start: mostly few values are others.
  void EnterFrom(std::size_t first, std::span<const double> wanted) {
    for (std::size_t d = first; d < wanted.size(); ++d) {
      if (wanted[d] == values[d]) continue;
      values[d] = wanted[d];
      Enter(d);
    }
  }

  void StartAnew(std::span<const double> wanted) {
    for (std::size_t d = 0; d < values.size(); ++d) {
      const double value = d < wanted.size() ? wanted[d] : values[d];
      if (value == values[d] && states[d] == start[d]) continue;
      values[d] = value;
      others_agree = others_agree && states[d] == start[d];
      states[d] = start[d];
      Enter(d);
    }
    at_start = true;
  }

  void Enter(std::size_t d) {
    reduction.Set(static_cast<int>(d), LawOf(topology.branches[d], values[d], states[d]));
  }

  // One state after the other, each change felt by the next, until none changes. A circuit of
  // diodes alone ends soon; one without an answer would go on for ever, hence the limit.
  void Settle() {
    reduction.Update();
    const std::size_t limit = 2 * values.size() + 8;
    for (std::size_t pass = 0; pass < limit; ++pass) {
      if (!AnyStateChanged()) return;
    }
    ++unsettled;
  }

  bool AnyStateChanged() {
    FollowSupplies();
    bool changed = false;
    for (const std::size_t d : others_agree ? switches : outputs) {
      const State state = StateNow(d);
      if (state == states[d]) continue;
      states[d] = state;
      at_start = false;
      Enter(d);
      reduction.Update();
      FollowSupplies();
      changed = true;
    }
    others_agree = !changed;
    return changed;
  }

  State StateNow(std::size_t d) const {
    const Branch& branch = topology.branches[d];
    const int device = static_cast<int>(d);
    return StateAt(branch, states[d], HasDiode(branch) ? reduction.BranchVoltage(device) : 0, supply_v[d]);
  }

  // Measured anew only if one of them may have crossed its minimum since.
  void FollowSupplies() {
    if (reduction.SuppliesMoved() < least_margin_v) return;
    reduction.MarkSupplies();
    others_agree = false;
    least_margin_v = std::numeric_limits<double>::infinity();
    for (const std::size_t d : outputs) {
      const Branch& branch = topology.branches[d];
      if (branch.supply == branch.ground) continue;  // none: 0 V for ever
      supply_v[d] = reduction.SupplyVoltage(static_cast<int>(d));
      least_margin_v = std::min(least_margin_v, SupplyMargin(branch, supply_v[d]) - kRoundingV);
    }
  }

  double Between(const NodePair& pair) const {
    return reduction.NodeVoltage(pair.plus) - reduction.NodeVoltage(pair.minus);
  }

  Topology topology;
  Reduction reduction;
  std::vector<double> values;
  std::vector<std::size_t> outputs;   // the devices and parts that have states
  std::vector<std::size_t> switches;  // of them those with a diode
  std::vector<State> states;
  std::vector<State> start;
  bool at_start = true;          // all states are those
  std::vector<double> supply_v;  // of outputs, as last measured
  double least_margin_v = 0;     // of any of them, from its minimum
  bool others_agree = false;     // the states of outputs that are no switches, with supply_v
  int unsettled = 0;
};

Harness::Harness(const profile::Bench& bench, std::span<const profile::Fault* const> faults)
    : Harness(MakeTopology(bench, faults)) {}
Harness::Harness(Topology topology) : impl_(std::make_unique<Impl>(std::move(topology))) {}
Harness::~Harness() = default;
Harness::Harness(Harness&&) noexcept = default;
Harness& Harness::operator=(Harness&&) noexcept = default;

std::size_t Harness::device_count() const { return impl_->topology.device_count; }
std::size_t Harness::input_count() const { return impl_->topology.inputs.size(); }

void Harness::Solve(std::span<const double> values, std::span<double> input_v) {
  assert(values.size() == impl_->topology.device_count);
  assert(input_v.size() == impl_->topology.inputs.size());
  impl_->Solve(values);
  impl_->reduction.ReadInputs(input_v);
}

void Harness::SolveAt(std::span<const double> values, std::span<const int> inputs,
                      std::span<double> input_v) {
  assert(values.size() == impl_->topology.device_count);
  assert(input_v.size() == impl_->topology.inputs.size());
  impl_->Solve(values);
  impl_->reduction.ReadInputs(inputs, input_v);
}

void Harness::Transfer(int device, std::span<double> gain) const {
  assert(gain.size() == impl_->topology.inputs.size());
  if (Nth(impl_->states, device).supplied) {
    impl_->reduction.Gain(device, gain);
  } else {
    std::ranges::fill(gain, 0.0);
  }
}

double Harness::Voltage(std::string_view node) const {
  const int index = impl_->topology.network.Find(node);
  if (index == kNoNode) return std::numeric_limits<double>::quiet_NaN();
  return impl_->reduction.NodeVoltage(index);
}

std::vector<std::string> Harness::NodeNames() const { return impl_->topology.network.names(); }

double Harness::ControllerSupply() const {
  return impl_->Between(impl_->topology.controller_supply);
}

double Harness::Reference(int index) const {
  return impl_->Between(Nth(impl_->topology.references, index));
}

std::string Harness::Netlist() const { return FormatNetlist(impl_->topology, impl_->values); }

int Harness::unsettled_count() const { return impl_->unsettled; }

}  // namespace drycrank::harness
