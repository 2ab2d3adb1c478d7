// SPDX-License-Identifier: Apache-2.0
#include "harness/variants.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "types/nth.h"

namespace drycrank::harness {
namespace {

constexpr double kNoCurrentOhm = 1e15;
constexpr int kMostPasses = 24;

// A port of a large harness moves a few of its devices, 18 of 109 in one of 300 circuits. What
// moves a device by less than this share of the most is left out of sums: of 10 V a hundred
// millionth of a millivolt. Where there are few devices nothing is gained by it.
constexpr double kNoShare = 1e-12;
constexpr Eigen::Index kMany = 64;
constexpr double kRestOhm = 1e3;                         // of a resistive device as power comes up
constexpr std::size_t kMostKept = std::size_t{1} << 23;  // numbers: 64 MiB

using Volts = Eigen::Ref<const Eigen::VectorXd>;

double Across(const Volts& node_v, const NodePair& pair) {
  return node_v[pair.plus] - node_v[pair.minus];
}
double Across(const Volts& node_v, const Edit::Port& port) {
  return Across(node_v, port.nodes) - Across(node_v, port.less);
}

// M x.
template <class Columns>
Eigen::VectorXd Times(const Columns& m, const Eigen::VectorXd& x) {
  if (x.size() < kMany) return m * x;
  const double least = kNoShare * x.lpNorm<Eigen::Infinity>();
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(m.rows());
  for (Eigen::Index d = 0; d < x.size(); ++d) {
    if (std::abs(x[d]) > least) sum += x[d] * m.col(d);
  }
  return sum;
}

// Of device d, by its current and supply voltage in the answers.
State NextState(const Branch& branch, const State& now, const Law& law,
                const Eigen::VectorXd& answer, Eigen::Index d, Eigen::Index devices) {
  const double supply_v = answer[devices + d];
  return StateAt(branch, now, law.ohm * answer[d] + law.fraction * supply_v + law.emf, supply_v);
}

}  // namespace

Variants::Variants(const profile::Bench& bench, std::span<const double> values)
    : topology_(MakeTopology(bench, {})),
      solver_(topology_.network),
      devices_(static_cast<Eigen::Index>(topology_.branches.size())),
      node_v0_(solver_.Voltages()),
      node_ohm_(node_v0_.size(), devices_) {
  assert(values.size() == topology_.device_count);
  // X, and the pairs N: the supplies come first, so that S is the head of N.
  for (Eigen::Index d = 0; d < devices_; ++d) {
    const Branch& branch = Nth(topology_.branches, d);
    node_ohm_.col(d) = solver_.Response(branch.plus, branch.minus);
  }
  for (const Branch& branch : topology_.branches) seen_.push_back({branch.supply, branch.ground});
  seen_.insert(seen_.end(), topology_.inputs.begin(), topology_.inputs.end());
  seen_.push_back(topology_.controller_supply);
  seen_.insert(seen_.end(), topology_.references.begin(), topology_.references.end());

  // As power comes up: nothing supplied, and resistive devices at some resistance or other.
  for (const Branch& branch : topology_.branches) {
    off_.states.push_back({.supplied = false, .diode = false});
    off_.laws.push_back(
        LawOf(branch, branch.kind == BranchKind::kResistor ? kRestOhm : 0, off_.states.back()));
  }
  Reduce(off_);
  first_.values.assign(values.begin(), values.end());
  first_.values.resize(topology_.branches.size(), 0);
  // From there to states that agree with the voltages they bring about.
  first_.states = StatesAt(off_);
  for (int pass = 0; pass < kMostPasses; ++pass) {
    first_.laws.clear();
    for (std::size_t d = 0; d < first_.values.size(); ++d) {
      first_.laws.push_back(LawOf(topology_.branches[d], first_.values[d], first_.states[d]));
    }
    Reduce(first_);
    std::vector<State> states = StatesAt(first_);
    if (states == first_.states) break;
    first_.states = std::move(states);
  }
}

std::vector<State> Variants::StatesAt(const Point& point) const {
  std::vector<State> states;
  for (std::size_t d = 0; d < point.laws.size(); ++d) {
    states.push_back(NextState(topology_.branches[d], point.states[d], point.laws[d], point.answer,
                               static_cast<Eigen::Index>(d), devices_));
  }
  return states;
}

void Variants::Reduce(Point& point) const {
  const auto rows = static_cast<Eigen::Index>(seen_.size());
  // The laws, P'v0 and P'X.
  Eigen::VectorXd ohm(devices_), fraction(devices_), emf(devices_), branch_v0(devices_);
  Eigen::MatrixXd branch_ohm(devices_, devices_);
  for (Eigen::Index d = 0; d < devices_; ++d) {
    const auto i = static_cast<std::size_t>(d);
    const Branch& branch = topology_.branches[i];
    ohm[d] = point.laws[i].ohm;
    fraction[d] = point.laws[i].fraction;
    emf[d] = point.laws[i].emf;
    branch_v0[d] = node_v0_[branch.plus] - node_v0_[branch.minus];
    branch_ohm.row(d) = node_ohm_.row(branch.plus) - node_ohm_.row(branch.minus);
  }
  // N'v0 and N'X; their first rows are S'v0 and S'X.
  Eigen::VectorXd seen_v0(rows);
  Eigen::MatrixXd seen_ohm(rows, devices_);
  for (Eigen::Index row = 0; row < rows; ++row) {
    const NodePair& pair = Nth(seen_, row);
    seen_v0[row] = Across(node_v0_, pair);
    seen_ohm.row(row) = node_ohm_.row(pair.plus) - node_ohm_.row(pair.minus);
  }
  // Y, i0, and from them a0 and B.
  Eigen::MatrixXd siemens(devices_, devices_);
  if (devices_ > 0) {
    Eigen::MatrixXd matrix = branch_ohm - fraction.asDiagonal() * seen_ohm.topRows(devices_);
    matrix.diagonal() += ohm;
    siemens = matrix.partialPivLu().inverse();
  }
  const Eigen::VectorXd amperes =
      siemens * (branch_v0 - fraction.cwiseProduct(seen_v0.head(devices_)) - emf);
  point.answer.resize(devices_ + rows);
  point.answer << amperes, seen_v0 - seen_ohm * amperes;
  point.by_emf.resize(devices_ + rows, devices_);
  point.by_emf << siemens, -seen_ohm * siemens;
}

// u0, C, and per ampere T, then the columns of R.
Variants::Felt Variants::FeltAt(const Point& point, const Place& place) const {
  const Eigen::Index rows = point.answer.size();
  const auto siemens = point.by_emf.topRows(devices_);
  Felt felt;
  felt.volts = Across(node_v0_, place.port) - place.device_ohm.dot(point.answer.head(devices_));
  felt.by_emf = -(siemens.transpose() * place.device_ohm);
  Eigen::VectorXd branch_v(devices_);
  const Eigen::VectorXd& volts = place.node_v;
  for (Eigen::Index d = 0; d < devices_; ++d) {
    const auto i = static_cast<std::size_t>(d);
    const Branch& branch = topology_.branches[i];
    branch_v[d] = volts[branch.plus] - volts[branch.minus] -
                  point.laws[i].fraction * (volts[branch.supply] - volts[branch.ground]);
  }
  felt.by_ampere.resize(rows);
  felt.by_ampere.head(devices_) = Times(siemens, branch_v);
  for (Eigen::Index row = devices_; row < rows; ++row) {
    felt.by_ampere[row] = Across(volts, Nth(seen_, row - devices_));
  }
  // N'W - N'X Y T; -N'X Y stands in these rows of B.
  felt.by_ampere.tail(rows - devices_) += Times(point.by_emf.bottomRows(rows - devices_), branch_v);
  return felt;
}

std::shared_ptr<const Variants::Place> Variants::PlaceOf(const Edit::Port& port) const {
  const NodePair &nodes = port.nodes, &less = port.less;
  const std::array<int, 4> ends{nodes.plus, nodes.minus, less.plus, less.minus};
  const auto known = known_.find(ends);
  if (known != known_.end()) return known->second;
  const auto size = static_cast<std::size_t>(node_v0_.size() + 6 * devices_);
  if (known_.size() * size > kMostKept) known_.clear();
  auto place = std::make_shared<Place>();
  place->port = {nodes, less};
  place->node_v = solver_.Response(nodes.plus, nodes.minus);
  if (less.plus != less.minus) place->node_v -= solver_.Response(less.plus, less.minus);
  place->device_ohm = (node_ohm_.row(nodes.plus) - node_ohm_.row(nodes.minus) -
                       (node_ohm_.row(less.plus) - node_ohm_.row(less.minus)))
                          .transpose();
  place->off = FeltAt(off_, *place);
  place->first = FeltAt(first_, *place);
  return known_.emplace(ends, std::move(place)).first->second;
}

void Variants::SetPorts(const Edit& edit, const Places& places, Felt Place::*at,
                        Ports& ports) const {
  const std::size_t count = places.size();
  ports.ohm.Resize(count);
  ports.volts.resize(count);
  for (std::size_t f = 0; f < count; ++f) {
    const Place& place = *places[f];
    const Felt& felt = place.*at;
    // Z, on top of it M^-1, and u0.
    for (std::size_t g = 0; g < count; ++g) {
      const Place& other = *places[g];
      ports.ohm.At(g, f) =
          Across(place.node_v, other.port) - other.device_ohm.dot(felt.by_ampere.head(devices_));
    }
    ports.volts[f] = felt.volts;
  }
  for (std::size_t f = 0; f < count; ++f) {
    const Edit::Port& port = edit.ports[f];
    ports.ohm.At(f, f) += port.ohm;
    if (port.partner >= 0)
      ports.ohm.At(f, static_cast<std::size_t>(port.partner)) += port.partner_ohm;
  }
  // A current that is known: its row says so.
  for (std::size_t f = 0; f < count; ++f) {
    if (!edit.ports[f].known) continue;
    for (std::size_t g = 0; g < count; ++g) ports.ohm.At(f, g) = f == g ? 1 : 0;
    ports.volts[f] = edit.ports[f].amperes;
  }
}

Variant::Variant(const Variants& base)
    : base_(&base), values_(base.first_.laws.size()), laws_(base.first_.laws) {}

void Variant::Put(const Edit& edit) {
  fitted_.assign(laws_.size(), true);
  for (const int device : edit.not_fitted) Nth(fitted_, device) = false;
  places_.clear();
  known_.clear();
  for (const Edit::Port& port : edit.ports) {
    places_.push_back(base_->PlaceOf(port));
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
    answer_ -= ports_.volts[f] * places_[f]->off.by_ampere;
  }
  start_.clear();
  for (std::size_t d = 0; d < off.laws.size(); ++d) {
    start_.push_back(NextState(base_->topology_.branches[d], off.states[d], off.laws[d], answer_,
                               static_cast<Eigen::Index>(d), base_->devices_));
  }
}

Law Variant::LawAt(std::size_t device) const {
  if (!fitted_[device]) return {kNoCurrentOhm, 0, 0};
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

// The laws are those of the first case, but for the changed devices.
void Variant::FindChanged() {
  const Variants::Point& first = base_->first_;
  for (const int device : changed_) Nth(laws_, device) = Nth(first.laws, device);
  changed_.clear();
  steps_.clear();
  for (std::size_t d = 0; d < laws_.size(); ++d) {
    if (values_[d] == first.values[d] && states_[d] == first.states[d] && fitted_[d]) continue;
    laws_[d] = LawAt(d);
    if (laws_[d] == first.laws[d]) continue;
    changed_.push_back(static_cast<int>(d));
    steps_.push_back(StepOf(changed_.back()));
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
      system_.At(changed + f, k) = known_[f] ? 0 : places_[f]->first.by_emf[changed_[k]];
    }
    for (std::size_t g = 0; g < places_.size(); ++g) {
      system_.At(changed + f, changed + g) = ports_.ohm.At(f, g);
    }
    unknown_[changed + f] = ports_.volts[f];
  }
}

void Variant::SolveOnce() {
  const Variants::Point& first = base_->first_;
  const std::size_t changed = changed_.size();
  system_.Resize(changed + places_.size());
  unknown_.resize(system_.size());
  EnterDevices();
  EnterPorts();
  system_.Factor();
  system_.Solve(unknown_);
  // a = a0 - B e - R j.
  answer_ = first.answer;
  for (std::size_t k = 0; k < changed; ++k) {
    answer_ -= unknown_[k] * first.by_emf.col(changed_[k]);
  }
  for (std::size_t f = 0; f < places_.size(); ++f) {
    answer_ -= unknown_[changed + f] * places_[f]->first.by_ampere;
  }
  // The current of a device that has opened, without the difference of large numbers: from its own
  // e = d_ohm i + d_fraction s + d_emf.
  for (std::size_t k = 0; k < changed; ++k) {
    const Step& step = steps_[k];
    if (step.ohm == 0) continue;
    const Eigen::Index d = changed_[k];
    answer_[d] =
        (step.weight * unknown_[k] - step.fraction * answer_[devices() + d] - step.emf) / step.ohm;
  }
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
    if (stays || !fitted_[d]) continue;
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
  if (!Nth(fitted_, device) || !Nth(states_, device).supplied) return;
  const auto& by_emf = base_->first_.by_emf.col(device);
  const std::size_t changed = changed_.size();
  // The right-hand sides, by how much they change ...
  felt_.resize(system_.size());
  for (std::size_t k = 0; k < changed; ++k) {
    const Eigen::Index d = changed_[k];
    felt_[k] = -(steps_[k].ohm * by_emf[d] + steps_[k].fraction * by_emf[devices() + d]);
  }
  for (std::size_t f = 0; f < places_.size(); ++f) {
    felt_[changed + f] = known_[f] ? 0 : -places_[f]->first.by_emf[device];
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
