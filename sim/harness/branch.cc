// SPDX-License-Identifier: Apache-2.0
#include "harness/branch.h"

#include <algorithm>

#include "harness/network.h"

namespace drycrank::harness {
namespace {

// A diode that sits on its knee is the same in either state; it must not flutter by rounding.
constexpr double kKneeV = 1e-9;

Law Transistor(const Branch& branch, double value, const State& state) {
  const double ohm = state.supplied && value > 0.5 ? branch.ohm : branch.off_ohm;
  if (!state.diode) return {ohm, 0, 0};
  // In parallel with the diode: i = v / ohm + (v + diode_v) / kDiodeOhm.
  const double both_ohm = 1 / (1 / ohm + 1 / kDiodeOhm);
  return {both_ohm, 0, -branch.diode_v / kDiodeOhm * both_ohm};
}

}  // namespace

bool HasStates(const Branch& branch) {
  return branch.kind == BranchKind::kTransistor || branch.kind == BranchKind::kVoltage ||
         branch.kind == BranchKind::kFraction;
}

Law LawOf(const Branch& branch, double value, const State& state) {
  switch (branch.kind) {
    case BranchKind::kNotFitted:
      return {};
    case BranchKind::kResistor:
      return {std::max(value, kLeastOhm), 0, 0};
    case BranchKind::kEmf:
      return {branch.ohm, 0, value};
    case BranchKind::kVoltage:
      return state.supplied ? Law{branch.ohm, 0, value} : Law{branch.off_ohm, 0, 0};
    case BranchKind::kFraction:
      return state.supplied ? Law{branch.ohm, value, 0} : Law{branch.off_ohm, 0, 0};
    case BranchKind::kTransistor:
      return Transistor(branch, value, state);
  }
  return {};
}

State StateAt(const Branch& branch, const State& now, double branch_v, double supply_v) {
  State state;
  switch (branch.kind) {
    case BranchKind::kTransistor:
      state.diode = -branch_v > branch.diode_v + (now.diode ? -kKneeV : kKneeV);
      [[fallthrough]];
    case BranchKind::kVoltage:
    case BranchKind::kFraction:
      state.supplied = supply_v >= branch.min_supply_v;
      break;
    default:
      break;
  }
  return state;
}

}  // namespace drycrank::harness
