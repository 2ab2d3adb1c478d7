// SPDX-License-Identifier: Apache-2.0
#include "harness/bus_pairs.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "harness/bus_pins.h"
#include "harness/small_system.h"
#include "profile/bus_nodes.h"

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

// What its pairs do when some are dominant.
class BusPair::Solved {
 public:
  explicit Solved(const BusPins& pins) : pins_(pins) {}

  std::size_t count() const { return static_cast<std::size_t>(pins_.rest_v.size()) / 2; }
  Levels Rest(std::size_t at) const { return {pins_.rest_v[High(at)], pins_.rest_v[Low(at)]}; }
  // (e' R e), e: one ampere into CANH and out of CANL.
  double OhmAcross(std::size_t at) const {
    const Eigen::Index h = High(at), l = Low(at);
    return pins_.ohm(h, h) - pins_.ohm(h, l) - pins_.ohm(l, h) + pins_.ohm(l, l);
  }

  // Volts at all pairs while these are dominant: which of their diodes conduct is tried until it
  // agrees with the currents.
  std::vector<Levels> Dominant(std::span<const std::size_t> senders) {
    const std::size_t ports = 2 * senders.size();
    conducts_.assign(ports, true);
    for (int pass = 0; pass < kMostPasses; ++pass) {
      FindAmperes(senders);
      bool changed = false;
      for (std::size_t p = 0; p < ports; ++p) {
        const double off_v = DriverV(p) - VoltsAt(PinOf(senders, p), senders);
        // Up through the one of CANH, down through the one of CANL, never the other way.
        const bool now = p % 2 == 0 ? off_v > 0 : off_v < 0;
        changed = changed || now != conducts_[p];
        conducts_[p] = now;
      }
      if (!changed) break;
    }
    std::vector<Levels> levels;
    for (std::size_t at = 0; at < count(); ++at) {
      levels.push_back({VoltsAt(High(at), senders), VoltsAt(Low(at), senders)});
    }
    return levels;
  }

 private:
  static Eigen::Index High(std::size_t at) { return static_cast<Eigen::Index>(2 * at); }
  static Eigen::Index Low(std::size_t at) { return High(at) + 1; }
  static double DriverV(std::size_t port) { return port % 2 == 0 ? kHighV : kLowV; }
  static Eigen::Index PinOf(std::span<const std::size_t> senders, std::size_t port) {
    return port % 2 == 0 ? High(senders[port / 2]) : Low(senders[port / 2]);
  }
  double VoltsAt(Eigen::Index pin, std::span<const std::size_t> senders) const {
    double volts = pins_.rest_v[pin];
    for (std::size_t p = 0; p < amperes_.size(); ++p) {
      volts += pins_.ohm(pin, PinOf(senders, p)) * amperes_[p];
    }
    return volts;
  }
  // (R + 24 ohm) i = driver - rest, of those that conduct; the others give nothing.
  void FindAmperes(std::span<const std::size_t> senders) {
    const std::size_t ports = conducts_.size();
    driven_.Resize(ports);
    amperes_.assign(ports, 0);
    for (std::size_t p = 0; p < ports; ++p) {
      const Eigen::Index pin = PinOf(senders, p);
      for (std::size_t q = 0; q < ports; ++q) {
        driven_.At(p, q) = conducts_[p] ? pins_.ohm(pin, PinOf(senders, q)) : 0;
      }
      driven_.At(p, p) += conducts_[p] ? kDriverOhm : 1;
      if (conducts_[p]) amperes_[p] = DriverV(p) - pins_.rest_v[pin];
    }
    driven_.Factor();
    driven_.Solve(amperes_);
  }

  const BusPins& pins_;
  std::vector<bool> conducts_;   // per port, a driver's switch
  SmallSystem driven_;           // R + 24 ohm
  std::vector<double> amperes_;  // i
};

namespace {

bool InRange(const BusPair::Levels& levels) {
  return std::min(levels.high_v, levels.low_v) >= kLeastV &&
         std::max(levels.high_v, levels.low_v) <= kMostV;
}

}  // namespace

BusPair::BusPair(const profile::Bench& bench, const profile::Bus& bus,
                 std::span<const profile::Fault* const> faults, const std::vector<bool>& sends)
    : BusPair(bus, BusPinsOf(bench, bus, faults), sends) {}

BusPair::BusPair(const profile::Bus& bus, const BusPins& pins, const std::vector<bool>& sends)
    : bit_s_(1 / bus.bitrate_bps), powered_(pins.powered) {
  Solved solved(pins);
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
void BusPair::FindSpoilt(Solved& solved, const std::vector<bool>& sends) {
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
