// SPDX-License-Identifier: Apache-2.0
#include "harness/variants.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "harness/next_state.h"
#include "types/nth.h"

namespace drycrank::harness {
namespace {

// A port of a large harness moves a few of its devices, 18 of 109 in one of 300 circuits. What
// moves a device by less than this share of the most is left out of sums: of 10 V a hundred
// millionth of a millivolt. Where there are few devices nothing is gained by it.
constexpr double kNoShare = 1e-12;
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

}  // namespace

Variants::Variants(const profile::Bench& bench, std::span<const double> values,
                   std::span<const NodePair> also)
    : Variants(MakeTopology(bench, {}), values, also) {}

Variants::Variants(Topology healthy, std::span<const double> values,
                   std::span<const NodePair> also)
    : topology_(std::move(healthy)),
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
  first_also_ = devices_ + static_cast<Eigen::Index>(seen_.size());
  seen_.insert(seen_.end(), also.begin(), also.end());

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
  ohm_to_emf_ = first_.by_emf.topRows(devices_).transpose();
  most_by_emf_ = Eigen::VectorXd::Zero(devices_);
  if (devices_ > 0) most_by_emf_ = first_.by_emf.cwiseAbs().colwise().maxCoeff().transpose();
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
    const auto i = AsSize(d);
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

// T.
Eigen::VectorXd Variants::BranchVolts(const Point& point, const Eigen::VectorXd& node_v) const {
  Eigen::VectorXd branch_v(devices_);
  for (Eigen::Index d = 0; d < devices_; ++d) {
    const auto i = AsSize(d);
    const Branch& branch = topology_.branches[i];
    branch_v[d] = node_v[branch.plus] - node_v[branch.minus] -
                  point.laws[i].fraction * (node_v[branch.supply] - node_v[branch.ground]);
  }
  return branch_v;
}

// R, of what W is given, so many of its rows: Y T, then N'W - N'X Y T; -N'X Y stands in these rows
// of B.
Eigen::VectorXd Variants::ByAmpere(const Point& point, const Eigen::VectorXd& node_v,
                                   Eigen::Index rows) const {
  Eigen::VectorXd by_ampere = Times(point.by_emf.topRows(rows), BranchVolts(point, node_v));
  for (Eigen::Index row = devices_; row < rows; ++row) {
    by_ampere[row] += Across(node_v, Nth(seen_, row - devices_));
  }
  return by_ampere;
}

// W.
Eigen::VectorXd Variants::NodeVolts(const NodePair& nodes, const NodePair& less) const {
  Eigen::VectorXd node_v = solver_.Response(nodes.plus, nodes.minus);
  if (less.plus != less.minus) node_v -= solver_.Response(less.plus, less.minus);
  return node_v;
}

// U'X.
Eigen::VectorXd Variants::DeviceOhm(const Edit::Port& port) const {
  return (node_ohm_.row(port.nodes.plus) - node_ohm_.row(port.nodes.minus) -
          (node_ohm_.row(port.less.plus) - node_ohm_.row(port.less.minus)))
      .transpose();
}

// C = -U'X Y.
Eigen::VectorXd Variants::ByEmf(const Eigen::VectorXd& device_ohm) const {
  return -Times(ohm_to_emf_, device_ohm);
}

// u0, and of Z the port's own.
void Variants::SetOwn(const Point& point, const Place& place, Felt& felt) const {
  felt.volts = Across(node_v0_, place.port) - place.device_ohm.dot(point.answer.head(devices_));
  felt.ohm = Across(place.node_v, place.port) - place.device_ohm.dot(felt.by_ampere.head(devices_));
}

std::shared_ptr<const Variants::Place> Variants::PlaceOf(const Edit::Port& port) const {
  const Ends ends{port.nodes.plus, port.nodes.minus, port.less.plus, port.less.minus};
  const auto known = known_.find(ends);
  if (known != known_.end()) return known->second;
  const auto size = AsSize(node_v0_.size() + 6 * devices_);
  if (known_.size() * size > kMostKept) known_.clear();
  auto place = std::make_shared<Place>();
  place->port = {port.nodes, port.less};
  place->node_v = NodeVolts(port.nodes, port.less);
  place->device_ohm = DeviceOhm(port);
  place->by_emf = ByEmf(place->device_ohm);
  place->off.by_ampere = ByAmpere(off_, place->node_v, 2 * devices_);
  place->first.by_ampere = ByAmpere(first_, place->node_v, first_.answer.size());
  SetOwn(off_, *place, place->off);
  SetOwn(first_, *place, place->first);
  return known_.emplace(ends, std::move(place)).first->second;
}

const Variants::AtNode& Variants::At(int node) const {
  const auto known = at_node_.find(node);
  if (known != at_node_.end()) return known->second;
  const Eigen::VectorXd node_v = solver_.Response(node, 0);
  return at_node_
      .emplace(node, AtNode{ByAmpere(off_, node_v, 2 * devices_),
                            ByAmpere(first_, node_v, first_.answer.size())})
      .first->second;
}

// An open contact's Z + M^-1 is a small difference: its Z is solved for, once.
Variants::Alone Variants::OwnOf(const Edit::Port& port, const Eigen::VectorXd& device_ohm) const {
  const Ends ends{port.nodes.plus, port.nodes.minus, port.less.plus, port.less.minus};
  const auto known = alone_.find(ends);
  if (known != alone_.end()) return known->second;
  const Eigen::VectorXd node_v = NodeVolts(port.nodes, port.less);
  const auto own_at = [&](const Point& point) {
    const Eigen::VectorXd amperes = ByAmpere(point, node_v, devices_);
    return Alone::Own{Across(node_v0_, port) - device_ohm.dot(point.answer.head(devices_)),
                      Across(node_v, port) - device_ohm.dot(amperes)};
  };
  return alone_.emplace(ends, Alone{own_at(off_), own_at(first_)}).first->second;
}

// Kept beside the others, by ends that none of those has: its node voltages are missing.
std::shared_ptr<const Variants::Place> Variants::PlaceOfAlone(const Edit::Port& port) const {
  const Ends ends{-1 - port.nodes.plus, port.nodes.minus, port.less.plus, port.less.minus};
  const auto known = known_.find(ends);
  if (known != known_.end()) return known->second;
  const auto most = AsSize(node_v0_.size() + 6 * devices_);
  if (known_.size() * most > kMostKept) known_.clear();
  auto place = std::make_shared<Place>();
  place->port = {port.nodes, port.less};
  place->device_ohm = DeviceOhm(port);
  place->by_emf = ByEmf(place->device_ohm);
  const Alone own = OwnOf(port, place->device_ohm);
  const auto size = AsSize(2 * devices_ + first_.answer.size());
  if (at_node_.size() * size > kMostKept) at_node_.clear();
  const int at[] = {port.nodes.plus, port.nodes.minus, port.less.plus, port.less.minus};
  const AtNode& plus = At(at[0]);
  place->off = {plus.off, own.off.volts, own.off.ohm};
  place->first = {plus.first, own.first.volts, own.first.ohm};
  for (const auto& [node, sign] : {std::pair{at[1], -1}, {at[2], -1}, {at[3], 1}}) {
    if (node == 0 || (at[2] == at[3] && node != at[1])) continue;
    const AtNode& more = At(node);
    place->off.by_ampere += sign * more.off;
    place->first.by_ampere += sign * more.first;
  }
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
      if (f == g) {
        ports.ohm.At(f, f) = felt.ohm;
        continue;
      }
      ports.ohm.At(g, f) =
          Across(place.node_v, other.port) - other.device_ohm.dot(felt.by_ampere.head(devices_));
    }
    ports.volts[f] = felt.volts;
  }
  for (std::size_t f = 0; f < count; ++f) {
    const Edit::Port& port = edit.ports[f];
    ports.ohm.At(f, f) += port.ohm;
    if (port.partner >= 0)
      ports.ohm.At(f, AsSize(port.partner)) += port.partner_ohm;
  }
  // A current that is known: its row says so.
  for (std::size_t f = 0; f < count; ++f) {
    if (!edit.ports[f].known) continue;
    for (std::size_t g = 0; g < count; ++g) ports.ohm.At(f, g) = f == g ? 1 : 0;
    ports.volts[f] = edit.ports[f].amperes;
  }
}

}  // namespace drycrank::harness
