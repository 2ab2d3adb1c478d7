// SPDX-License-Identifier: Apache-2.0
#include "harness/bus_pairs.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "harness/harness.h"
#include "harness/topology.h"
#include "profile/bus_nodes.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::harness {
namespace {

constexpr double kHighV = 4.3, kLowV = 0.7, kDriverOhm = 24;
constexpr double kDominantV = 0.9, kRecessiveV = 0.5, kMarginV = 0.3;
constexpr double kLeastV = -2, kMostV = 7;
constexpr double kNodeFarad = 100e-12, kWiresFarad = 300e-12;
constexpr double kShareOfBit = 0.5;
constexpr int kMostPasses = 8;

}  // namespace

int ControllerNode(const profile::Bench& bench, const profile::Bus& bus) {
  return profile::NodeOfController(bench, bus);  // kTap where there is none
}

int DisplayNode(const profile::Bus& bus) {
  const int node = profile::IndexOf(bus.nodes, "display");
  return node < 0 ? kTap : node;
}

// The harness, solved, and what its pairs do.
class BusPair::Solved {
 public:
  Solved(const profile::Bench& bench, const profile::Bus& bus,
         std::span<const profile::Fault* const> faults)
      : topology_(MakeTopology(bench, faults)),
        solver_(topology_.network),
        rest_v_(solver_.Voltages()) {
    for (const profile::BusNode& node : bus.nodes)
      pairs_.push_back({Node(node.high), Node(node.low)});
    // The tap: on the wires, behind the plug of the controller or of the first node.
    const profile::BusNode& at = Nth(bus.nodes, std::max(0, ControllerNode(bench, bus)));
    pairs_.push_back({Node(at.high + "~"), Node(at.low + "~")});
    for (const NodePair& pair : pairs_) {
      by_ampere_.push_back({solver_.Response(pair.plus, 0), solver_.Response(pair.minus, 0)});
    }
  }

  const Topology& topology() const { return topology_; }
  std::size_t count() const { return pairs_.size(); }
  Levels Rest(std::size_t at) const {
    return {rest_v_[pairs_[at].plus], rest_v_[pairs_[at].minus]};
  }
  double OhmAcross(std::size_t at) const {
    const Eigen::VectorXd v = solver_.Response(pairs_[at].plus, pairs_[at].minus);
    return v[pairs_[at].plus] - v[pairs_[at].minus];
  }

  // Volts at all pairs while these are dominant: which of their diodes conduct is tried until it
  // agrees with the currents.
  std::vector<Levels> Dominant(std::span<const std::size_t> senders) const {
    const std::size_t ports = 2 * senders.size();
    std::vector<bool> conducts(ports, true);
    Eigen::VectorXd ampere;
    for (int pass = 0; pass < kMostPasses; ++pass) {
      ampere = Amperes(senders, conducts);
      bool changed = false;
      for (std::size_t p = 0; p < ports; ++p) {
        const double off_v = DriverV(p) - VoltsAt(senders, p, ampere);
        // Up through the one of CANH, down through the one of CANL, never the other way.
        const bool now = p % 2 == 0 ? off_v > 0 : off_v < 0;
        changed = changed || now != conducts[p];
        conducts[p] = now;
      }
      if (!changed) break;
    }
    std::vector<Levels> levels;
    for (std::size_t at = 0; at < pairs_.size(); ++at) {
      levels.push_back(
          {Volts(pairs_[at].plus, senders, ampere), Volts(pairs_[at].minus, senders, ampere)});
    }
    return levels;
  }

 private:
  static double DriverV(std::size_t port) { return port % 2 == 0 ? kHighV : kLowV; }
  int Node(const std::string& name) const { return std::max(0, topology_.network.Find(name)); }
  int PortNode(std::span<const std::size_t> senders, std::size_t port) const {
    const NodePair& pair = pairs_[senders[port / 2]];
    return port % 2 == 0 ? pair.plus : pair.minus;
  }
  double Volts(int node, std::span<const std::size_t> senders,
               const Eigen::VectorXd& ampere) const {
    double volts = rest_v_[node];
    for (Eigen::Index p = 0; p < ampere.size(); ++p) {
      const auto port = static_cast<std::size_t>(p);
      volts += by_ampere_[senders[port / 2]][port % 2][node] * ampere[p];
    }
    return volts;
  }
  double VoltsAt(std::span<const std::size_t> senders, std::size_t port,
                 const Eigen::VectorXd& ampere) const {
    return Volts(PortNode(senders, port), senders, ampere);
  }
  // (R + 24 ohm) i = driver - rest, of those that conduct; the others give nothing.
  Eigen::VectorXd Amperes(std::span<const std::size_t> senders,
                          const std::vector<bool>& conducts) const {
    const auto ports = static_cast<Eigen::Index>(conducts.size());
    Eigen::MatrixXd ohm = Eigen::MatrixXd::Identity(ports, ports);
    Eigen::VectorXd volts = Eigen::VectorXd::Zero(ports);
    for (Eigen::Index p = 0; p < ports; ++p) {
      const auto port = static_cast<std::size_t>(p);
      if (!conducts[port]) continue;
      const int node = PortNode(senders, port);
      for (Eigen::Index q = 0; q < ports; ++q) {
        const auto other = static_cast<std::size_t>(q);
        ohm(p, q) = by_ampere_[senders[other / 2]][other % 2][node];
      }
      ohm(p, p) += kDriverOhm;
      volts[p] = DriverV(port) - rest_v_[node];
    }
    return ohm.partialPivLu().solve(volts);
  }

  Topology topology_;
  NodalSolver solver_;
  Eigen::VectorXd rest_v_;
  std::vector<NodePair> pairs_;
  std::vector<std::array<Eigen::VectorXd, 2>> by_ampere_;  // into CANH, into CANL of each pair
};

namespace {

// What the devices do with the key on: switches in feeds are closed.
std::vector<double> KeyOn(const profile::Bench& bench, const Topology& topology) {
  constexpr double kSomeOhm = 1e3;
  std::vector<double> values;
  for (std::size_t d = 0; d < topology.device_count; ++d) {
    values.push_back(topology.branches[d].kind == BranchKind::kResistor ? kSomeOhm : 0);
    if (d < bench.triggers.size()) continue;
    const profile::Sensor& sensor = bench.sensors[d - bench.triggers.size()];
    if (!profile::IsFeedSwitch(bench, sensor)) continue;
    values.back() = std::get<profile::SwitchSensor>(sensor.model).closed_ohm;
  }
  return values;
}

// By the load of its name: a display, a keypad. One without is fed by somebody else.
bool HasSupply(const profile::Bench& bench, const Harness& harness, const std::string& name) {
  const int load = profile::IndexOf(bench.loads, name);
  if (load < 0) return true;
  const profile::Load& at = Nth(bench.loads, load);
  return harness.Voltage(at.plus) - harness.Voltage(at.minus) >= kNodeWorksV;
}

// The controller's own supply is looked after by its stand-in.
std::vector<bool> PoweredNodes(const profile::Bench& bench, const profile::Bus& bus,
                               const Topology& topology) {
  std::vector<bool> powered(bus.nodes.size(), true);
  const int controller = ControllerNode(bench, bus);
  std::optional<Harness> harness;
  for (std::size_t n = 0; n < powered.size(); ++n) {
    const bool is_load = profile::IndexOf(bench.loads, bus.nodes[n].name) >= 0;
    if (!is_load || static_cast<int>(n) == controller) continue;
    if (!harness) {
      harness.emplace(topology);
      std::vector<double> input_v(harness->input_count());
      harness->Solve(KeyOn(bench, topology), input_v);
    }
    powered[n] = HasSupply(bench, *harness, bus.nodes[n].name);
  }
  return powered;
}

bool InRange(const BusPair::Levels& levels) {
  return std::min(levels.high_v, levels.low_v) >= kLeastV &&
         std::max(levels.high_v, levels.low_v) <= kMostV;
}

}  // namespace

BusPair::BusPair(const profile::Bench& bench, const profile::Bus& bus,
                 std::span<const profile::Fault* const> faults, const std::vector<bool>& sends)
    : bit_s_(1 / bus.bitrate_bps) {
  const Solved solved(bench, bus, faults);
  powered_ = PoweredNodes(bench, bus, solved.topology());
  powered_.push_back(true);
  levels_.resize(solved.count());
  for (std::size_t at = 0; at < solved.count(); ++at) {
    recessive_.push_back(solved.Rest(at));
    across_ohm_.push_back(solved.OhmAcross(at));
  }
  for (std::size_t sender = 0; sender < solved.count(); ++sender) {
    const std::vector<Levels> seen = solved.Dominant({&sender, 1});
    for (std::size_t at = 0; at < seen.size(); ++at) levels_[at].push_back(seen[at]);
  }
  FindSpoilt(solved, sends);
}

// Does what is dominant at one come out as dominant at the other, and fade in time?
bool BusPair::Feels(std::size_t from, std::size_t to) const {
  const Levels &dominant = levels_[to][from], &recessive = recessive_[to];
  if (!powered_[from] || !powered_[to] || !InRange(dominant) || !InRange(recessive)) return false;
  if (dominant.Across() < kDominantV + kMarginV || recessive.Across() > kRecessiveV) return false;
  const double farad = kWiresFarad + kNodeFarad * static_cast<double>(recessive_.size());
  const double fades_s = across_ohm_[to] * farad * std::log(dominant.Across() / kRecessiveV);
  return fades_s < kShareOfBit * bit_s_;
}

// By one that feels it, whose answer is felt.
bool BusPair::IsAnswered(std::size_t from) const {
  for (std::size_t other = 0; other < recessive_.size(); ++other) {
    if (other != from && Feels(from, other) && Feels(other, from)) return true;
  }
  return false;
}

// One that sends and is not answered repeats it for ever. Does it cancel what another feels?
void BusPair::FindSpoilt(const Solved& solved, const std::vector<bool>& sends) {
  const std::size_t nodes = sends.size();
  for (std::size_t bad = 0; bad < nodes; ++bad) {
    if (!sends[bad] || !powered_[bad] || IsAnswered(bad)) continue;
    for (std::size_t from = 0; from < recessive_.size(); ++from) {
      if (from == bad || !powered_[from]) continue;
      const std::array<std::size_t, 2> both{from, bad};
      const std::vector<Levels> seen = solved.Dominant(both);
      for (std::size_t to = 0; to < recessive_.size(); ++to) {
        const bool cancelled =
            to != from && to != bad && Feels(from, to) && seen[to].Across() < kDominantV;
        spoilt_ = spoilt_ || cancelled;
      }
    }
  }
}

bool BusPair::Hears(int from, int to) const {
  const std::size_t a = Place(from), b = Place(to);
  if (spoilt_ || !IsAnswered(a)) return false;
  return a == b ? powered_[a] : Feels(a, b);
}

// On a bus that a crossed node spoils, what the others send is cancelled in part.
ErrorState BusPair::StateOf(int node) const {
  const std::size_t at = Place(node);
  if (!powered_[at]) return ErrorState::kActive;
  if (IsAnswered(at)) return spoilt_ ? ErrorState::kBusOff : ErrorState::kActive;
  return Feels(at, at) ? ErrorState::kPassive : ErrorState::kBusOff;
}

}  // namespace drycrank::harness
