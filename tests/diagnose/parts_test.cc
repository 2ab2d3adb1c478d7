// SPDX-License-Identifier: Apache-2.0
//
// Fuses, relays, diodes and plugs between two pieces of harness. Benches drawn by seeds
// (tests/support/random_bench.h, drawn_parts.h), each healthy and with faults, against a network that
// the tests make by their own hand and that ngspice solves (nodal_network.h): all that the controller
// measures within 0.1 mV. And the same faults as a change of low rank (harness/edit.h).
// SEEDS=300 in the environment draws as many.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <stdexcept>

#include "diagnose/electrical.h"
#include "harness/edit.h"
#include "harness/variants.h"
#include "tests/diagnose/outside_world.h"
#include "tests/support/nodal_network.h"
#include "types/random.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Fault;
using support::Departure;

constexpr double kToleranceV = 1e-4;
// As a change of low rank. Behind the open contact of a relay a node has 1 Gohm to ground; where two
// wires change places, the amperes of a dead short come off that, and leave as much.
constexpr double kLowRankV = 1e-5, kLowRankSwappedV = 2e-3;

// A fault of ours, and how the tests' own world puts it in.
struct Trial {
  Fault fault;
  Departure departure;
};

class Trials {
 public:
  Trials(const profile::Bench& bench, std::uint64_t seed) : bench_(bench), random_(seed, 5) {}

  std::vector<Trial> Draw() {
    std::vector<Trial> all;
    for (const profile::Relay& relay : bench_.relays) {
      all.push_back(RelayStays(relay, fault::RelayPosition::kOff, support::Stays::kOff));
      all.push_back(RelayStays(relay, fault::RelayPosition::kOn, support::Stays::kOn));
      for (const std::string& pin : {relay.coil_plus, relay.common}) all.push_back(OpenAt(pin));
      all.push_back(Swapped(relay.coil_plus, relay.coil_minus));
    }
    for (const profile::Diode& diode : bench_.diodes) {
      all.push_back(Swapped(diode.anode, diode.cathode));
    }
    for (const profile::Connector& plug : bench_.connectors) {
      if (plug.in_line || plug.name == "BOX") all.push_back(Off(plug));
      if (!plug.in_line) continue;
      all.push_back(OpenAt(AnyPin(plug)));
      all.push_back(Corroded(AnyPin(plug), Uniform(1, 300)));
      all.push_back(ToGround(AnyPin(plug), Uniform(0.05, 500)));
      if (plug.pins.size() > 1) {
        all.push_back(Swapped(plug.name + "." + plug.pins[0], plug.name + "." + plug.pins[1]));
      }
    }
    for (const profile::Wire& wire : bench_.wires) {
      if (wire.IsFuse()) all.push_back(Blown(wire.circuit));
    }
    return all;
  }

 private:
  double Uniform(double low, double high) { return low + (high - low) * random_.Uniform(); }
  std::string AnyPin(const profile::Connector& plug) {
    const auto at = static_cast<std::size_t>(random_.Uniform() * static_cast<double>(plug.pins.size()));
    return plug.name + "." + plug.pins[at];
  }
  static Trial Make(const profile::FaultKind& kind, const std::string& at,
                    const std::string& with = "") {
    Trial trial;
    trial.fault.kind = kind;
    trial.fault.at = at;
    trial.fault.with = with;
    return trial;
  }

  static Trial RelayStays(const profile::Relay& relay, fault::RelayPosition said,
                          support::Stays stays) {
    Trial trial = Make(fault::RelayStays{said}, relay.name);
    trial.departure.relays[relay.name] = stays;
    return trial;
  }
  static Trial OpenAt(const std::string& pin) {
    Trial trial = Make(fault::Open{}, pin);
    trial.departure.cut.contacts.insert(pin);
    return trial;
  }
  Trial Blown(const std::string& circuit) const {
    Trial trial = Make(fault::Open{}, circuit);
    for (std::size_t w = 0; w < bench_.wires.size(); ++w) {
      if (bench_.wires[w].circuit != circuit) continue;
      trial.departure.cut.wires.insert(static_cast<int>(w));
    }
    return trial;
  }
  static Trial Off(const profile::Connector& plug) {
    Trial trial = Make(fault::NotPlugged{}, plug.name);
    for (const auto& pin : plug.pins) trial.departure.cut.contacts.insert(plug.name + "." + pin);
    return trial;
  }
  static Trial Swapped(const std::string& a, const std::string& b) {
    Trial trial = Make(fault::TerminalsSwapped{}, a, b);
    trial.departure.swapped.emplace_back(a, b);
    return trial;
  }
  static Trial Corroded(const std::string& pin, double ohm) {
    Trial trial = Make(fault::SeriesResistance{ohm}, pin);
    trial.departure.contact_more_ohm[pin] = ohm;
    return trial;
  }
  Trial ToGround(const std::string& pin, double ohm) const {
    Trial trial = Make(fault::ShortToGround{ohm}, pin);
    trial.departure.bridges.push_back({pin + "~", bench_.supplies[0].minus, ohm});
    return trial;
  }

  const profile::Bench& bench_;
  Random random_;
};

std::vector<double> InputVolts(const profile::Bench& bench, const harness::Harness& harness) {
  const double ground = harness.Voltage(bench.controller->ground);
  std::vector<double> volts;
  for (const profile::InputCircuit& input : bench.controller->inputs) {
    volts.push_back(harness.Voltage(input.terminal) - ground);
  }
  volts.push_back(harness.ControllerSupply());
  return volts;
}

struct Tally {
  int trials = 0, relays = 0, diodes = 0, fuses = 0, in_line = 0, moved = 0, buzzing = 0;
};

class PartsOf {
 public:
  explicit PartsOf(std::uint64_t seed)
      : seed_(seed), bench_(DrawnBench(seed, With::kParts)), rest_(RestOf(bench_)) {}

  void Run(Tally& tally) {
    Count(tally);
    const std::vector<double> healthy = Compare({}, {});
    for (const Trial& trial : Trials(bench_, seed_).Draw()) {
      SCOPED_TRACE(fmt::format("seed {}: {} {} {}", seed_, profile::Name(trial.fault.kind),
                               trial.fault.at, trial.fault.with));
      ++tally.trials;
      if (Buzzes(trial)) {
        ++tally.buzzing;
        continue;
      }
      const std::vector<double> volts = Compare({&trial.fault, 1}, trial.departure);
      CompareEdit(trial.fault, volts);
      tally.moved += Differ(healthy, volts);
    }
  }

 private:
  void Count(Tally& tally) const {
    tally.relays += static_cast<int>(bench_.relays.size());
    tally.diodes += static_cast<int>(bench_.diodes.size());
    for (const profile::Wire& wire : bench_.wires) tally.fuses += wire.IsFuse();
    for (const auto& plug : bench_.connectors) {
      if (plug.in_line) tally.in_line += static_cast<int>(plug.pins.size());
    }
  }

  // A relay that takes its own coil's feed away finds no state, here and there.
  bool Buzzes(const Trial& trial) const {
    if (HarnessIn(bench_, rest_, {&trial.fault, 1}).unsettled_count() == 0) return false;
    EXPECT_THROW(support::VoltsOf(bench_, trial.departure, rest_.stimuli), std::logic_error);
    return true;
  }

  std::vector<double> Compare(std::span<const Fault> faults, const Departure& departure) {
    const harness::Harness ours = HarnessIn(bench_, rest_, faults);
    EXPECT_EQ(ours.unsettled_count(), 0);
    const std::vector<double> volts = InputVolts(bench_, ours);
    support::Volts theirs =
        support::VoltsOf(bench_, departure, rest_.stimuli, false, support::SolvedBy::kNgspice);
    theirs.input_v.push_back(theirs.supply_v);
    for (std::size_t i = 0; i < volts.size(); ++i) {
      EXPECT_NEAR(volts[i], theirs.input_v[i], kToleranceV) << "input " << i;
    }
    return volts;
  }

  void CompareEdit(const Fault& fault, const std::vector<double>& volts) {
    const harness::DeviceValues values = DevicesIn(bench_, rest_, {});
    const harness::Variants healthy(bench_, values);
    const auto edit = harness::EditOf(bench_, healthy.topology(), {&fault, 1});
    ASSERT_TRUE(edit);
    harness::Variant variant(healthy);
    variant.Put(*edit);
    EXPECT_TRUE(variant.Solve(values));
    for (std::size_t i = 0; i + 1 < volts.size(); ++i) {
      EXPECT_NEAR(variant.InputVoltage(static_cast<int>(i)), volts[i],
                  fault.Is<fault::TerminalsSwapped>() ? kLowRankSwappedV : kLowRankV)
          << "input " << i << " as a change of low rank";
    }
  }

  static bool Differ(const std::vector<double>& a, const std::vector<double>& b) {
    for (std::size_t i = 0; i < a.size(); ++i) {
      if (std::abs(a[i] - b[i]) > 0.05) return true;
    }
    return false;
  }

  const std::uint64_t seed_;
  const profile::Bench bench_;
  const Situation rest_;
};

TEST(Parts, AgainstANetworkOfOurOwnByNgspice) {
  const char* wanted = std::getenv("SEEDS");
  const int seeds = wanted == nullptr ? 16 : std::atoi(wanted);
  Tally tally;
  for (int seed = 1; seed <= seeds; ++seed) PartsOf(static_cast<std::uint64_t>(seed)).Run(tally);
  fmt::print("{} faults, {} of which move a reading, {} make a relay buzz; {} relays, {} diodes, {} fuses, {} pins between "
             "two pieces of harness\n",
             tally.trials, tally.moved, tally.buzzing, tally.relays, tally.diodes, tally.fuses, tally.in_line);
  // All of them came, or nothing was tried.
  EXPECT_GT(tally.relays, seeds / 3);
  EXPECT_GT(tally.diodes, seeds / 12);
  EXPECT_GT(tally.fuses, seeds / 2);
  EXPECT_GT(tally.in_line, seeds);
  EXPECT_GT(tally.moved, tally.trials / 3);
  EXPECT_LT(tally.buzzing, tally.trials / 50);
}

}  // namespace
}  // namespace drycrank::diagnose
