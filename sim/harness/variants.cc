// SPDX-License-Identifier: Apache-2.0
#include "harness/variants.h"

#include <cassert>
#include <cmath>

#include "types/nth.h"

namespace drycrank::harness {
namespace {

constexpr double kNoCurrentOhm = 1e15;
constexpr int kMostPasses = 24;

constexpr double kRestOhm = 1e3;                         // of a resistive device as power comes up
constexpr std::size_t kMostKept = std::size_t{1} << 20;  // numbers: 8 MiB

using Volts = Eigen::Ref<const Eigen::VectorXd>;

double Across(const Volts& node_v, const NodePair& pair) {
  return node_v[pair.plus] - node_v[pair.minus];
}
double Across(const Volts& node_v, const Edit::Port& port) {
  return Across(node_v, port.nodes) - Across(node_v, port.less);
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
  assert(values.size() == topology_.branches.size());
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
  // From there to states that agree with the voltages they bring about.
  first_.states = StatesAt(off_);
  for (int pass = 0; pass < kMostPasses; ++pass) {
    first_.laws.clear();
    for (std::size_t d = 0; d < values.size(); ++d) {
      first_.laws.push_back(LawOf(topology_.branches[d], values[d], first_.states[d]));
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
  felt.by_ampere.head(devices_) = siemens * branch_v;
  for (Eigen::Index row = devices_; row < rows; ++row) {
    felt.by_ampere[row] = Across(volts, Nth(seen_, row - devices_));
  }
  // N'W - N'X Y T; -N'X Y stands in these rows of B.
  felt.by_ampere.tail(rows - devices_) += point.by_emf.bottomRows(rows - devices_) * branch_v;
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

Variants::Ports Variants::PortsOf(const Edit& edit, const Places& places, Felt Place::*at) const {
  const auto count = static_cast<Eigen::Index>(places.size());
  Ports ports{Eigen::MatrixXd(count, count), Eigen::VectorXd(count)};
  for (Eigen::Index f = 0; f < count; ++f) {
    const Place& place = *Nth(places, f);
    const Felt& felt = place.*at;
    // Z, on top of it M^-1, and u0.
    for (Eigen::Index g = 0; g < count; ++g) {
      const Place& other = *Nth(places, g);
      ports.ohm(g, f) =
          Across(place.node_v, other.port) - other.device_ohm.dot(felt.by_ampere.head(devices_));
    }
    ports.volts[f] = felt.volts;
  }
  for (Eigen::Index f = 0; f < count; ++f) {
    const Edit::Port& port = Nth(edit.ports, f);
    ports.ohm(f, f) += port.ohm;
    if (port.partner >= 0) ports.ohm(f, port.partner) += port.partner_ohm;
  }
  // A current that is known: its row says so.
  for (Eigen::Index f = 0; f < count; ++f) {
    if (!Nth(edit.ports, f).known) continue;
    ports.ohm.row(f).setZero();
    ports.ohm(f, f) = 1;
    ports.volts[f] = Nth(edit.ports, f).amperes;
  }
  return ports;
}

Variant::Variant(const Variants& base, const Edit& edit)
    : base_(&base),
      fitted_(base.first_.laws.size(), true),
      values_(base.first_.laws.size()),
      laws_(base.first_.laws) {
  for (const int device : edit.not_fitted) Nth(fitted_, device) = false;
  for (const Edit::Port& port : edit.ports) {
    places_.push_back(base.PlaceOf(port));
    known_.push_back(port.known);
  }
  PowerUp(edit);
  ports_ = base.PortsOf(edit, places_, &Variants::Place::first);
}

void Variant::PowerUp(const Edit& edit) {
  const Variants::Point& off = base_->off_;
  // No device has another law: a = a0 - R j with (Z + M^-1) j = u0.
  Eigen::VectorXd answer = off.answer;
  if (!places_.empty()) {
    const Variants::Ports ports = base_->PortsOf(edit, places_, &Variants::Place::off);
    const Eigen::VectorXd amperes = ports.ohm.partialPivLu().solve(ports.volts);
    for (std::size_t f = 0; f < places_.size(); ++f) {
      answer -= amperes[static_cast<Eigen::Index>(f)] * places_[f]->off.by_ampere;
    }
  }
  for (std::size_t d = 0; d < off.laws.size(); ++d) {
    start_.push_back(NextState(base_->topology_.branches[d], off.states[d], off.laws[d], answer,
                               static_cast<Eigen::Index>(d), base_->devices_));
  }
}

Law Variant::LawAt(std::size_t device) const {
  if (!fitted_[device]) return {kNoCurrentOhm, 0, 0};
  return LawOf(base_->topology_.branches[device], values_[device], states_[device]);
}

bool Variant::Solve(std::span<const double> values) {
  assert(values.size() == values_.size());
  values_.assign(values.begin(), values.end());
  states_ = start_;
  for (int pass = 0; pass < kMostPasses; ++pass) {
    FindChanged();
    SolveOnce();
    if (!AnyStateChanged()) return true;
  }
  return false;
}

void Variant::FindChanged() {
  changed_.clear();
  for (std::size_t d = 0; d < laws_.size(); ++d) {
    laws_[d] = LawAt(d);
    if (laws_[d] != base_->first_.laws[d]) changed_.push_back(static_cast<int>(d));
  }
}

void Variant::SolveOnce() {
  const Variants::Point& first = base_->first_;
  const auto changed = static_cast<Eigen::Index>(changed_.size());
  const Eigen::Index ports = ports_.volts.size(), size = changed + ports;
  answer_ = first.answer;
  if (size == 0) return;
  // One row for each changed device, a put into its equation:
  //   e + (d_ohm B_i + d_fraction B_s) e + (d_ohm R_i + d_fraction R_s) j
  //     = d_ohm i0 + d_fraction s0 + d_emf        i, s: the device's rows of a, B and R
  system_.resize(size, size);
  unknown_.resize(size);
  for (Eigen::Index k = 0; k < changed; ++k) {
    const int d = Nth(changed_, k);
    const Step step = StepOf(d);
    const Eigen::Index supply = devices() + d;
    for (Eigen::Index m = 0; m < changed; ++m) {
      const int other = Nth(changed_, m);
      system_(k, m) =
          step.ohm * first.by_emf(d, other) + step.fraction * first.by_emf(supply, other);
    }
    system_(k, k) += step.weight;
    for (Eigen::Index f = 0; f < ports; ++f) {
      const Variants::Felt& felt = Nth(places_, f)->first;
      system_(k, changed + f) =
          step.ohm * felt.by_ampere[d] + step.fraction * felt.by_ampere[supply];
      system_(changed + f, k) = Nth(known_, f) ? 0 : felt.by_emf[d];
    }
    unknown_[k] = step.ohm * first.answer[d] + step.fraction * first.answer[supply] + step.emf;
  }
  // One row for each port, C e + (Z + M^-1) j = u0; its C stands there already.
  system_.bottomRightCorner(ports, ports) = ports_.ohm;
  unknown_.tail(ports) = ports_.volts;
  factors_.compute(system_);
  unknown_ = factors_.solve(unknown_).eval();
  // a = a0 - B e - R j.
  for (Eigen::Index k = 0; k < changed; ++k) {
    answer_ -= unknown_[k] * first.by_emf.col(Nth(changed_, k));
  }
  for (Eigen::Index f = 0; f < ports; ++f) {
    answer_ -= unknown_[changed + f] * Nth(places_, f)->first.by_ampere;
  }
  // The current of a device that has opened, without the difference of large numbers: from its own
  // e = d_ohm i + d_fraction s + d_emf.
  for (Eigen::Index k = 0; k < changed; ++k) {
    const int d = Nth(changed_, k);
    const Step step = StepOf(d);
    if (step.ohm == 0) continue;
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
    if (!fitted_[d]) continue;
    const State state = NextState(base_->topology_.branches[d], states_[d], laws_[d], answer_,
                                  static_cast<Eigen::Index>(d), devices());
    any = any || state != states_[d];
    states_[d] = state;
  }
  return any;
}

double Variant::FirstPortAmperes() const {
  const Eigen::Index ports = ports_.volts.size();
  return ports == 0 ? 0 : unknown_.tail(ports)[0];
}

// An EMF of one volt in the device: a0 falls by a column of B and u0 by one of C; what is otherwise
// than in the first case feels that, by the system of the last Solve.
double Variant::Gain(int input, int device) const {
  const Variants::Point& first = base_->first_;
  if (!Nth(fitted_, device) || !Nth(states_, device).supplied) {
    return 0;
  }
  const auto changed = static_cast<Eigen::Index>(changed_.size());
  const Eigen::Index row = 2 * devices() + input, ports = ports_.volts.size();
  double gain = -first.by_emf(row, device);
  if (changed + ports == 0) return gain;
  // The right-hand sides, by how much they change ...
  Eigen::VectorXd felt(changed + ports);
  for (Eigen::Index k = 0; k < changed; ++k) {
    const int d = Nth(changed_, k);
    const Step step = StepOf(d);
    felt[k] =
        -(step.ohm * first.by_emf(d, device) + step.fraction * first.by_emf(devices() + d, device));
  }
  for (Eigen::Index f = 0; f < ports; ++f) {
    felt[changed + f] = Nth(known_, f) ? 0 : -Nth(places_, f)->first.by_emf[device];
  }
  // ... and [e; j] and the input's row of a with them.
  const Eigen::VectorXd answer = factors_.solve(felt);
  for (Eigen::Index k = 0; k < changed; ++k) {
    gain -= answer[k] * first.by_emf(row, Nth(changed_, k));
  }
  for (Eigen::Index f = 0; f < ports; ++f) {
    gain -= answer[changed + f] * Nth(places_, f)->first.by_ampere[row];
  }
  return gain;
}

}  // namespace drycrank::harness
