// SPDX-License-Identifier: Apache-2.0
//
// One edit in many cases (variants.h). Two cases differ by the law of a device or two, of which an
// edit elsewhere feels little: what it shifts it shifts in all of them, by nearly the same.
//
//   a - a_healthy = -B (e - e_healthy) - R j
//
// The unknowns are solved for in each case, and are few. The answers are many: those that the edit
// shifted where it was marked are made, and the others are left alone for as long as
//
//   sum |e - e_healthy - marked| most |B|  +  sum |j - marked| most |R|,    the most of their rows
//
// is nothing.
#include <algorithm>
#include <cassert>
#include <cmath>
#include <iterator>

#include "harness/next_state.h"
#include "harness/variants.h"
#include "types/nth.h"

namespace drycrank::harness {
namespace {

constexpr double kNoShift = 1e-7, kLittle = 4e-7;  // V, A: the two together are no difference

// Of the column, in rows that are not of `rows`.
template <class Column>
double MostElsewhere(const Column& column, std::span<const Eigen::Index> rows) {
  double most = 0;
  auto next = rows.begin();
  for (Eigen::Index row = 0; row < column.size(); ++row) {
    if (next != rows.end() && *next == row)
      ++next;
    else
      most = std::max(most, std::abs(column[row]));
  }
  return most;
}

// e of this device; of one that has the first case's law 0.
double EmfOf(std::span<const int> changed, std::span<const double> emf, int device) {
  const auto at = std::ranges::lower_bound(changed, device);
  return at == changed.end() || *at != device ? 0 : Nth(emf, at - changed.begin());
}

}  // namespace

Variant::Held Variant::Hold() const {
  const auto e = static_cast<std::ptrdiff_t>(changed_.size());
  return {changed_, {unknown_.begin(), unknown_.begin() + e}, states_, answer_};
}

void Variant::Mark(const Held& healthy, std::span<const int> moved) {
  MarkDevices(healthy, moved);
  MarkRows(healthy);
  mark_.elsewhere_by_emf.clear();
  mark_.elsewhere_by_ampere.clear();
  for (const int d : mark_.devices) {
    mark_.elsewhere_by_emf.push_back(MostElsewhere(base_->first_.by_emf.col(d), mark_.rows));
  }
  for (const auto& place : places_) {
    mark_.elsewhere_by_ampere.push_back(MostElsewhere(place->first.by_ampere, mark_.rows));
  }
}

void Variant::MarkDevices(const Held& healthy, std::span<const int> moved) {
  std::vector<int> devices(moved.begin(), moved.end());
  devices.insert(devices.end(), changed_.begin(), changed_.end());
  devices.insert(devices.end(), healthy.changed.begin(), healthy.changed.end());
  mark_.states.clear();
  for (std::size_t d = 0; d < states_.size(); ++d) {
    if (states_[d] == healthy.states[d]) continue;
    mark_.states.emplace_back(static_cast<int>(d), states_[d]);
    devices.push_back(static_cast<int>(d));
  }
  std::ranges::sort(devices);
  devices.erase(std::unique(devices.begin(), devices.end()), devices.end());
  mark_.devices = std::move(devices);
  mark_.emf.clear();
  for (const int d : mark_.devices) {
    mark_.emf.push_back(EmfOf(changed_, unknown_, d) - EmfOf(healthy.changed, healthy.emf, d));
  }
  mark_.amperes.assign(unknown_.begin() + static_cast<std::ptrdiff_t>(changed_.size()),
                       unknown_.end());
}

// Of a device that feels the edit, or has another state, both rows; and, always, the supply and the
// references.
void Variant::MarkRows(const Held& healthy) {
  const auto shifted = [&](Eigen::Index row) {
    return std::abs(answer_[row] - healthy.answer[row]) > kNoShift;
  };
  std::vector<Eigen::Index> currents, supplies;
  mark_.stateful.clear();
  for (Eigen::Index d = 0; d < devices(); ++d) {
    if (!shifted(d) && !shifted(devices() + d) && Nth(states_, d) == Nth(healthy.states, d)) continue;
    currents.push_back(d);
    supplies.push_back(devices() + d);
    if (HasStates(Nth(base_->topology_.branches, d))) mark_.stateful.push_back(static_cast<int>(d));
  }
  mark_.rows = std::move(currents);
  mark_.rows.insert(mark_.rows.end(), supplies.begin(), supplies.end());
  mark_.inputs.clear();
  for (int i = 0; i < base_->input_count(); ++i) {
    if (!shifted(2 * devices() + i)) continue;
    mark_.inputs.push_back(i);
    mark_.rows.push_back(2 * devices() + i);
  }
  for (Eigen::Index row = 2 * devices() + base_->input_count(); row < answer_.size(); ++row) {
    mark_.rows.push_back(row);
  }
}

// Laws as in the healthy case, but for devices that the edit changed where it was marked.
void Variant::Guess(const Held& healthy, std::span<const double> values) {
  const Variants::Point& first = base_->first_;
  for (const int device : changed_) Nth(laws_, device) = Nth(first.laws, device);
  changed_.clear();
  steps_.clear();
  all_.clear();
  std::ranges::set_union(healthy.changed, mark_.devices, std::back_inserter(all_));
  states_ = healthy.states;
  for (const auto& [device, state] : mark_.states) Nth(states_, device) = state;
  for (const int device : all_) {
    // Of parts no value is asked for.
    if (device < base_->device_count()) Nth(values_, device) = Nth(values, device);
    Nth(laws_, device) = LawAt(AsSize(device));
    if (Nth(laws_, device) == Nth(first.laws, device)) continue;
    changed_.push_back(device);
    steps_.push_back(StepOf(device));
  }
}

bool Variant::SolveShifted(const Held& healthy, std::span<const double> values) {
  assert(is_marked());
  Guess(healthy, values);
  SolveSystem();
  more_.clear();
  for (const int d : all_) {
    more_.push_back(EmfOf(changed_, unknown_, d) - EmfOf(healthy.changed, healthy.emf, d));
  }
  if (!(ShiftElsewhere() < kLittle)) return false;
  AnswerShifted(healthy);
  return StatesHold();
}

// The most by which other rows are shifted otherwise than where it was marked.
double Variant::ShiftElsewhere() const {
  double most = 0;
  std::size_t at = 0;  // in the mark
  for (std::size_t k = 0; k < all_.size(); ++k) {
    const bool marked = at < mark_.devices.size() && mark_.devices[at] == all_[k];
    most += marked ? std::abs(more_[k] - mark_.emf[at]) * mark_.elsewhere_by_emf[at]
                   : std::abs(more_[k]) * base_->most_by_emf_[all_[k]];
    at += marked;
  }
  for (std::size_t f = 0; f < places_.size(); ++f) {
    most += std::abs(unknown_[changed_.size() + f] - mark_.amperes[f]) *
            mark_.elsewhere_by_ampere[f];
  }
  return most;
}

void Variant::AnswerShifted(const Held& healthy) {
  for (const Eigen::Index row : mark_.rows) answer_[row] = healthy.answer[row];
  const auto take = [&](double much, const auto& column) {
    if (much == 0) return;
    for (const Eigen::Index row : mark_.rows) answer_[row] -= much * column[row];
  };
  for (std::size_t k = 0; k < all_.size(); ++k) take(more_[k], base_->first_.by_emf.col(all_[k]));
  for (std::size_t f = 0; f < places_.size(); ++f) {
    take(unknown_[changed_.size() + f], places_[f]->first.by_ampere);
  }
  for (std::size_t k = 0; k < changed_.size(); ++k) SetCurrent(k);
}

bool Variant::StatesHold() const {
  return std::ranges::all_of(mark_.stateful, [&](int d) {
    return Nth(states_, d) == NextState(Nth(base_->topology_.branches, d), Nth(states_, d),
                                        Nth(laws_, d), answer_, d, devices());
  });
}

}  // namespace drycrank::harness
