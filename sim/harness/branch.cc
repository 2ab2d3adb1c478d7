// SPDX-License-Identifier: Apache-2.0
#include "harness/branch.h"

#include <algorithm>
#include <cmath>

#include "harness/network.h"

namespace drycrank::harness {
namespace {

// A diode that sits on its knee is the same in either state; it must not flutter by rounding.
constexpr double kKneeV = 1e-9;
constexpr double kLimitKneeV = 1e-6;  // of 10 Mohm, whose voltage is known less well

Law Transistor(const Branch& branch, double value, const State& state) {
  const double ohm = state.supplied && value > 0.5 ? branch.ohm : branch.off_ohm;
  if (!state.diode) return {ohm, 0, 0};
  // In parallel with the diode: i = v / ohm + (v + diode_v) / kDiodeOhm.
  const double both_ohm = 1 / (1 / ohm + 1 / kDiodeOhm);
  return {both_ohm, 0, -branch.diode_v / kDiodeOhm * both_ohm};
}

// Both pieces meet where diode_v and -limit_a do.
Law Limited(const Branch& branch, const State& state) {
  const double ohm = state.diode ? kLimitOhm : branch.ohm;
  return {ohm, 0, branch.diode_v + ohm * branch.limit_a};
}

}  // namespace

bool HasStates(const Branch& branch) {
  switch (branch.kind) {
    case BranchKind::kNotFitted:
    case BranchKind::kResistor:
    case BranchKind::kEmf:
      return false;
    case BranchKind::kVoltage:
    case BranchKind::kFraction:
    case BranchKind::kTransistor:
    case BranchKind::kContact:
    case BranchKind::kDiode:
    case BranchKind::kLimited:
      return true;
  }
  return false;
}

bool HasDiode(const Branch& branch) {
  return branch.kind == BranchKind::kTransistor || branch.kind == BranchKind::kDiode ||
         branch.kind == BranchKind::kLimited;
}

double SupplyMargin(const Branch& branch, double supply_v) {
  const bool contact = branch.kind == BranchKind::kContact;
  return std::abs((contact ? std::abs(supply_v) : supply_v) - branch.min_supply_v);
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
    case BranchKind::kContact:
      return {state.supplied != branch.rests_closed ? branch.ohm : branch.off_ohm, 0, 0};
    case BranchKind::kDiode:
      return state.diode ? Law{kDiodeOhm, 0, branch.diode_v} : Law{branch.off_ohm, 0, 0};
    case BranchKind::kLimited:
      return Limited(branch, state);
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
    case BranchKind::kContact:
      state.supplied = std::abs(supply_v) >= branch.min_supply_v;
      break;
    case BranchKind::kDiode:
      state.diode = branch_v > branch.diode_v + (now.diode ? -kKneeV : kKneeV);
      break;
    case BranchKind::kLimited:
      state.diode = branch_v < branch.diode_v + (now.diode ? kLimitKneeV : -kLimitKneeV);
      break;
    case BranchKind::kNotFitted:
    case BranchKind::kResistor:
    case BranchKind::kEmf:
      break;
  }
  return state;
}

}  // namespace drycrank::harness
