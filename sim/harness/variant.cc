// SPDX-License-Identifier: Apache-2.0
//
// One edit at a time (variants.h).
#include <algorithm>
#include <cassert>
#include <cmath>

#include "harness/next_state.h"
#include "harness/variants.h"
#include "types/apart.h"
#include "types/nth.h"

namespace drycrank::harness {
namespace {

constexpr double kNoCurrentOhm = 1e15;

// No flags: all are.
bool IsFitted(const std::vector<bool>& fitted, std::size_t device) {
  return fitted.empty() || fitted[device];
}

}  // namespace

Variant::Variant(const Variants& base)
    : base_(&base), values_(base.first_.laws.size()), laws_(base.first_.laws) {}

void Variant::Put(const Edit& edit) {
  fitted_.assign(edit.not_fitted.empty() ? 0 : laws_.size(), true);
  for (const int device : edit.not_fitted) Nth(fitted_, device) = false;
  places_.clear();
  known_.clear();
  mark_.rows.clear();
  const bool alone = edit.ports.size() == 1 && devices() >= kMany;
  for (const Edit::Port& port : edit.ports) {
    places_.push_back(alone ? base_->PlaceOfAlone(port) : base_->PlaceOf(port));
    known_.push_back(port.known);
  }
  PowerUp(edit);
  base_->SetPorts(edit, places_, &Variants::Place::first, ports_);
}

void Variant::PowerUp(const Edit& edit) {
  const Variants::Point& off = base_->off_;
  // No device has another law: a = a0 - R j with (Z + M^-1) j = u0.
  answer_ = off.answer;
  base_->SetPorts(edit, places_, &Variants::Place::off, ports_);
  ports_.ohm.Factor();
  ports_.ohm.Solve(ports_.volts);
  for (std::size_t f = 0; f < places_.size(); ++f) {
    answer_.head(2 * devices()) -= ports_.volts[f] * places_[f]->off.by_ampere;
  }
  start_.clear();
  for (std::size_t d = 0; d < off.laws.size(); ++d) {
    start_.push_back(NextState(base_->topology_.branches[d], off.states[d], off.laws[d], answer_,
                               static_cast<Eigen::Index>(d), base_->devices_));
  }
}

Law Variant::LawAt(std::size_t device) const {
  if (!IsFitted(fitted_, device)) return {kNoCurrentOhm, 0, 0};
  return LawOf(base_->topology_.branches[device], values_[device], states_[device]);
}

bool Variant::Solve(std::span<const double> values) {
  assert(values.size() == base_->topology_.device_count);
  std::ranges::copy(values, values_.begin());
  states_ = start_;
  for (int pass = 0; pass < kMostPasses; ++pass) {
    FindChanged();
    SolveOnce();
    if (!AnyStateChanged()) return true;
  }
  return false;
}

// The laws are those of the first case, but for the changed devices. These are few: many devices at
// once are passed over.
void Variant::FindChanged() {
  const Variants::Point& first = base_->first_;
  for (const int device : changed_) Nth(laws_, device) = Nth(first.laws, device);
  changed_.clear();
  steps_.clear();
  const auto enter = [&](std::size_t d) {
    const bool same = values_[d] == first.values[d] && states_[d] == first.states[d];
    if (same && IsFitted(fitted_, d)) return;
    laws_[d] = LawAt(d);
    if (laws_[d] == first.laws[d]) return;
    changed_.push_back(static_cast<int>(d));
    steps_.push_back(StepOf(changed_.back()));
  };
  for (std::size_t begin = 0; begin < laws_.size(); begin += kAtOnce) {
    const bool all_same = fitted_.empty() && SameBytes(values_, first.values, begin) &&
                          SameBytes(states_, first.states, begin);
    if (all_same) continue;
    for (std::size_t d = begin; d < std::min(begin + kAtOnce, laws_.size()); ++d) enter(d);
  }
}

// One row for each changed device, a put into its equation:
//   e + (d_ohm B_i + d_fraction B_s) e + (d_ohm R_i + d_fraction R_s) j
//     = d_ohm i0 + d_fraction s0 + d_emf        i, s: the device's rows of a, B and R
void Variant::EnterDevices() {
  const Variants::Point& first = base_->first_;
  const std::size_t changed = changed_.size();
  for (std::size_t k = 0; k < changed; ++k) {
    const Step& step = steps_[k];
    const Eigen::Index d = changed_[k], supply = devices() + d;
    for (std::size_t m = 0; m < changed; ++m) {
      const auto& by_emf = first.by_emf.col(changed_[m]);
      system_.At(k, m) = step.ohm * by_emf[d] + step.fraction * by_emf[supply];
    }
    system_.At(k, k) += step.weight;
    for (std::size_t f = 0; f < places_.size(); ++f) {
      const Eigen::VectorXd& by_ampere = places_[f]->first.by_ampere;
      system_.At(k, changed + f) = step.ohm * by_ampere[d] + step.fraction * by_ampere[supply];
    }
    unknown_[k] = step.ohm * first.answer[d] + step.fraction * first.answer[supply] + step.emf;
  }
}

// One row for each port: C e + (Z + M^-1) j = u0.
void Variant::EnterPorts() {
  const std::size_t changed = changed_.size();
  for (std::size_t f = 0; f < places_.size(); ++f) {
    for (std::size_t k = 0; k < changed; ++k) {
      system_.At(changed + f, k) = known_[f] ? 0 : places_[f]->by_emf[changed_[k]];
    }
    for (std::size_t g = 0; g < places_.size(); ++g) {
      system_.At(changed + f, changed + g) = ports_.ohm.At(f, g);
    }
    unknown_[changed + f] = ports_.volts[f];
  }
}

void Variant::SolveSystem() {
  system_.Resize(changed_.size() + places_.size());
  unknown_.resize(system_.size());
  EnterDevices();
  EnterPorts();
  system_.Factor();
  system_.Solve(unknown_);
}

void Variant::SolveOnce() {
  const Variants::Point& first = base_->first_;
  const std::size_t changed = changed_.size();
  SolveSystem();
  // a = a0 - B e - R j.
  answer_ = first.answer;
  for (std::size_t k = 0; k < changed; ++k) {
    answer_ -= unknown_[k] * first.by_emf.col(changed_[k]);
  }
  for (std::size_t f = 0; f < places_.size(); ++f) {
    answer_ -= unknown_[changed + f] * places_[f]->first.by_ampere;
  }
  for (std::size_t k = 0; k < changed; ++k) SetCurrent(k);
}

// The current of a device that has opened, without the difference of large numbers: from its own
// e = d_ohm i + d_fraction s + d_emf.
void Variant::SetCurrent(std::size_t k) {
  const Step& step = steps_[k];
  if (step.ohm == 0) return;
  const Eigen::Index d = changed_[k];
  answer_[d] =
      (step.weight * unknown_[k] - step.fraction * answer_[devices() + d] - step.emf) / step.ohm;
}

// An opened switch has a very large row beside the others: brought to their size.
Variant::Step Variant::StepOf(int device) const {
  const Law& law = Nth(laws_, device);
  const Law& first = Nth(base_->first_.laws, device);
  const double weight = 1 / (1 + std::abs(law.ohm - first.ohm));
  return {weight, (law.ohm - first.ohm) * weight, (law.fraction - first.fraction) * weight,
          (law.emf - first.emf) * weight};
}

bool Variant::AnyStateChanged() {
  bool any = false;
  for (std::size_t d = 0; d < states_.size(); ++d) {
    const BranchKind kind = base_->topology_.branches[d].kind;
    const bool stays = kind == BranchKind::kResistor || kind == BranchKind::kEmf;  // HasStates
    if (stays || !IsFitted(fitted_, d)) continue;
    const State state = NextState(base_->topology_.branches[d], states_[d], laws_[d], answer_,
                                  static_cast<Eigen::Index>(d), devices());
    any = any || state != states_[d];
    states_[d] = state;
  }
  return any;
}

double Variant::FirstPortAmperes() const { return places_.empty() ? 0 : unknown_[changed_.size()]; }

// An EMF of one volt in the device: a0 falls by a column of B and u0 by one of C; what is otherwise
// than in the first case feels that, by the system of the last Solve.
void Variant::Transfer(int device, std::span<double> gain) {
  std::ranges::fill(gain, 0);
  if (!IsFitted(fitted_, AsSize(device)) || !Nth(states_, device).supplied) return;
  const auto& by_emf = base_->first_.by_emf.col(device);
  const std::size_t changed = changed_.size();
  // The right-hand sides, by how much they change ...
  felt_.resize(system_.size());
  for (std::size_t k = 0; k < changed; ++k) {
    const Eigen::Index d = changed_[k];
    felt_[k] = -(steps_[k].ohm * by_emf[d] + steps_[k].fraction * by_emf[devices() + d]);
  }
  for (std::size_t f = 0; f < places_.size(); ++f) {
    felt_[changed + f] = known_[f] ? 0 : -places_[f]->by_emf[device];
  }
  // ... and [e; j] and the inputs' rows of a with them.
  system_.Solve(felt_);
  const Eigen::Index inputs = 2 * devices(), count = base_->input_count();
  Eigen::Map<Eigen::VectorXd> gains(gain.data(), count);
  gains -= by_emf.segment(inputs, count);
  for (std::size_t k = 0; k < changed; ++k) {
    gains -= felt_[k] * base_->first_.by_emf.col(changed_[k]).segment(inputs, count);
  }
  for (std::size_t f = 0; f < places_.size(); ++f) {
    gains -= felt_[changed + f] * places_[f]->first.by_ampere.segment(inputs, count);
  }
}

}  // namespace drycrank::harness
