// SPDX-License-Identifier: Apache-2.0
//
// Evidence for circuits of benches made by hand, all invented, against a world that is none of the
// program's (cut_trials.h). What is proven is reasoned beside each.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>
#include <string>

#include "tests/study/cut_trials.h"

namespace drycrank::study {
namespace {

// The circuits of a healthy bench that are proven, after all its cuts.
std::set<std::string> ProvenOf(const std::string& name, const std::string& yaml,
                               bool as_drawn = false) {
  CutTrials trials(name, LoadText(yaml, as_drawn));
  Tally tally;
  trials.Run(tally);
  return trials.Proven();
}

// Of a thermistor of 10 kohm and B 3977 at a pull-up of 2.2 kohm to 5 V, 1 Mohm in parallel: at
// 20 degC 10000 exp(3977 (1/293.15 - 1/298.15)) = 12555 ohm, 5 V * 12399 / 14599 = 4.2465 V.
constexpr const char* kRows =
    "[[0.6172, 130], [0.7662, 120], [0.9534, 110], [1.1865, 100], [1.4718, 90], [1.8125, 80], "
    "[2.2053, 70], [2.6377, 60], [3.0871, 50], [3.5236, 40], [3.9175, 30], [4.2465, 20], "
    "[4.5016, 10], [4.6856, 0], [4.8099, -10], [4.8888, -20], [4.936, -30]]";

std::string WithRows(std::string yaml) {
  for (std::size_t at = 0; (at = yaml.find("ROWS")) != std::string::npos;) {
    yaml.replace(at, 4, kRows);
  }
  return yaml;
}

// Invented. ECU.2 and ECU.5 are joined inside, and outside in G: one of them cut moves nothing, for
// the current of 13.2 V / 30 ohm = 0.44 A goes through the other.
constexpr const char* kTwoGrounds = R"(kind: bench
format: 1
name: two_grounds
engine: {strokes: 4, firing_order: [1, 3, 4, 2]}
stimuli: {temperature: {unit: degC, min: -20, max: 120, initial: 31}}
supplies: {battery: {plus: BAT.1, minus: BAT.2, voltage_v: 13.2, series_ohm: 0.02}}
connectors: {BAT: {pins: 2}, ECU: {pins: 6}, T: {pins: 2}}
sensors:
  warm: {measures: temperature, kind: ntc, beta: {r25_ohm: 10000, beta_k: 3977}, plus: T.1, minus: T.2}
splices: [G]
wires:
  - {circuit: plus, from: BAT.1, to: ECU.1, length_m: 1.1, gauge: 1 mm2}
  - {circuit: ground_1, from: ECU.2, to: G, length_m: 0.7, gauge: 1 mm2}
  - {circuit: ground_2, from: ECU.5, to: G, length_m: 0.9, gauge: 1 mm2}
  - {circuit: ground, from: G, to: BAT.2, length_m: 1.3, gauge: 1.5 mm2}
  - {circuit: signal, from: T.1, to: ECU.3, length_m: 2.1, gauge: 0.5 mm2}
  - {circuit: return, from: T.2, to: ECU.4, length_m: 2.1, gauge: 0.5 mm2}
buses:
  vehicle:
    messages:
      all: {id: 0x120, length_bytes: 8, sender: controller, period_ms: 50, signals: {
        warm: {start_bit: 0, length_bits: 16, scale: 0.01, offset: -100, unit: degC, carries: warm},
        supply: {start_bit: 16, length_bits: 16, scale: 0.001, unit: V, carries: supply_voltage}}}
controller:
  supply: ECU.1
  ground: ECU.2
  more_grounds: [ECU.5]
  sensor_grounds: [ECU.4]
  references: [{terminal: ECU.6, voltage_v: 5}]
  inputs: [{terminal: ECU.3, pull_up_ohm: 2200}]
  analog:
    warm: {terminal: ECU.3, unit: degC, low_v: 0.1, high_v: 4.96, fallback: 80, value_at_volts: ROWS}
)";

// The world itself, worked by hand: supply 13.2 V over 20 mohm in the battery, 4 contacts of 5 mohm,
// 1.1 m and 0.7 m of 19.5 mohm/m, 1.3 m of 13.3 mohm/m and the controller's 30 ohm: 13.2 V * 30 /
// 30.09239. Input at 25 degC: 10 kohm, two wires of 81.9 mohm, 4 contacts, 20 mohm inside: 10000.204
// ohm, 9901.190 with 1 Mohm in parallel, of 5 V over 2.2 kohm more. Its wire cut: 1 Mohm alone. The
// leaks of 1 Gohm move all by less than 0.1 mV.
TEST(NodalWorld, VoltsAreThoseWorkedByHand) {
  const profile::Bench bench = LoadText(WithRows(kTwoGrounds), false);
  const int ground_2 = 2, signal = 4;
  const support::Volts healthy = support::VoltsOf(bench, {{{ground_2}, {}}}, {0, 25});
  EXPECT_NEAR(healthy.supply_v, 13.15947, 1e-5);
  EXPECT_NEAR(healthy.input_v[0], 4.09100, 1e-4);
  EXPECT_NEAR(support::VoltsOf(bench, {{{signal}, {}}}, {0, 25}).input_v[0], 4.98902, 1e-4);
  EXPECT_NEAR(support::VoltsOf(bench, {{{}, {"T.2"}}}, {0, 25}).input_v[0], 4.98902, 1e-4);
}

TEST(HandMadeBenches, TwoGroundsInParallelProveNeither) {
  EXPECT_THAT(ProvenOf("two grounds", WithRows(kTwoGrounds)),
              testing::UnorderedElementsAre("plus", "ground", "signal", "return"));
}

// Invented. Without its ground the controller's 0.44 A return through the sensor ground, 6 m * 53
// mohm/m + 25 mohm = 0.343 ohm to S: the thermistor stands 0.151 V lower. At 106 degC (1.05 V) 0.151 V
// * (5 - 1.05) / 5 = 0.119 V lower at the input, where 10 K are 0.233 V: 5.1 K, of 4.2 K allowed. At
// rest (22 degC, 4.18 V) it is 0.025 V where 10 K are 0.33 V, and the switch never feels it.
constexpr const char* kThinOtherWay = R"(kind: bench
format: 1
name: thin_other_way
engine: {strokes: 4, firing_order: [1, 3, 4, 2]}
stimuli:
  temperature: {unit: degC, min: -20, max: 120, initial: 31}
  low_level: {unit: count, min: 0, max: 1, initial: 0}
supplies: {battery: {plus: BAT.1, minus: BAT.2, voltage_v: 13.2, series_ohm: 0.02}}
connectors: {BAT: {pins: 2}, ECU: {pins: 6}, T: {pins: 2}, U: {pins: 2}}
sensors:
  warm: {measures: temperature, kind: ntc, beta: {r25_ohm: 10000, beta_k: 3977}, plus: T.1, minus: T.2}
  low: {measures: low_level, kind: switch, plus: U.1, minus: U.2}
splices: [G, S]
wires:
  - {circuit: plus, from: BAT.1, to: ECU.1, length_m: 1.1, gauge: 1 mm2}
  - {circuit: ground, from: ECU.2, to: G, length_m: 0.7, gauge: 1 mm2}
  - {circuit: minus, from: G, to: BAT.2, length_m: 1.3, gauge: 1.5 mm2}
  - {circuit: signal, from: T.1, to: ECU.3, length_m: 2.1, gauge: 0.5 mm2}
  - {circuit: return, from: T.2, to: S, length_m: 0.4, gauge: 0.5 mm2}
  - {circuit: sensor_ground, from: ECU.4, to: S, length_m: 6, gauge: 0.34 mm2}
  - {circuit: low_return, from: U.2, to: S, length_m: 0.5, gauge: 1 mm2}
  - {circuit: tie, from: U.2, to: G, length_m: 0.5, gauge: 1 mm2}
  - {circuit: low_signal, from: U.1, to: ECU.5, length_m: 2.1, gauge: 0.5 mm2}
buses:
  vehicle:
    messages:
      all: {id: 0x120, length_bytes: 8, sender: controller, period_ms: 50, signals: {
        warm: {start_bit: 0, length_bits: 16, scale: 0.01, offset: -100, unit: degC, carries: warm},
        low: {start_bit: 16, length_bits: 8, carries: low}}}
controller:
  supply: ECU.1
  ground: ECU.2
  sensor_grounds: [ECU.4]
  references: [{terminal: ECU.6, voltage_v: 5}]
  inputs: [{terminal: ECU.3, pull_up_ohm: 2200}, {terminal: ECU.5, pull_up_ohm: 4700}]
  analog:
    warm: {terminal: ECU.3, unit: degC, low_v: 0.1, high_v: 4.96, fallback: 80, value_at_volts: ROWS}
    low: {terminal: ECU.5, unit: count, ratiometric: false, low_v: -1, fallback: 0, value_at_volts: [[1, 1], [4, 0]]}
)";

TEST(HandMadeBenches, AGroundWhoseOtherWayIsThinIsProvenByAStepOfAnotherSensor) {
  const auto proven = ProvenOf("thin other way", WithRows(kThinOtherWay), true);
  EXPECT_THAT(proven, testing::IsSupersetOf({"plus", "ground", "minus", "signal", "return"}));
}

// Invented: a two-stroke of three cylinders; the controller has two plugs, on each a supply and a
// ground pin. J1 and J2 feed one plug each and the loads; the branch between them is fed from J2's
// plug, through the controller, when it is cut. Nobody is asked about coils and injectors here.
constexpr const char* kThreeCylinders = R"(kind: bench
format: 1
name: three_cylinders
engine: {strokes: 2, firing_order: [1, 2, 3]}
stimuli:
  coolant: {unit: degC, min: -20, max: 120, initial: 31}
  air: {unit: degC, min: -20, max: 110, initial: 17}
  manifold: {unit: kPa, min: 20, max: 250, initial: 98}
  throttle: {unit: "%", min: 0, max: 100, initial: 7}
  oil_low: {unit: count, min: 0, max: 1, initial: 0}
supplies: {battery: {plus: BAT.1, minus: BAT.2, voltage_v: 13.5, series_ohm: 0.02}}
connectors:
  {BAT: {pins: 2}, A: {pins: 8}, B: {pins: 13}, CKP: {pins: 3}, CLT: {pins: 2}, IAT: {pins: 2},
   MAP: {pins: 3}, TPS: {pins: 3}, OPS: {pins: 2}, C1: {pins: 2}, C2: {pins: 2}, C3: {pins: 2},
   I1: {pins: 2}, I2: {pins: 2}, I3: {pins: 2}}
triggers:
  crank:
    wheel: {teeth: 36, missing: [36]}
    offset_deg: 40
    pickup: {kind: hall, supply: CKP.1, ground: CKP.2, signal: CKP.3}
sensors:
  coolant: {measures: coolant, kind: ntc, beta: {r25_ohm: 10000, beta_k: 3977}, plus: CLT.1, minus: CLT.2}
  air: {measures: air, kind: ntc, beta: {r25_ohm: 10000, beta_k: 3977}, plus: IAT.1, minus: IAT.2}
  manifold: {measures: manifold, kind: ratiometric, low_value: 20, high_value: 250, supply: MAP.1, ground: MAP.2, signal: MAP.3}
  throttle: {measures: throttle, kind: ratiometric, low_value: 0, high_value: 100, supply: TPS.1, ground: TPS.2, signal: TPS.3}
  oil_low: {measures: oil_low, kind: switch, plus: OPS.1, minus: OPS.2}
loads:
  coil_1: {plus: C1.1, minus: C1.2, ohm: 0.7}
  coil_2: {plus: C2.1, minus: C2.2, ohm: 0.7}
  coil_3: {plus: C3.1, minus: C3.2, ohm: 0.7}
  injector_1: {plus: I1.1, minus: I1.2, ohm: 12}
  injector_2: {plus: I2.1, minus: I2.2, ohm: 12}
  injector_3: {plus: I3.1, minus: I3.2, ohm: 12}
splices: [J1, J2, G, S, V]
wires:
  - {circuit: plus, from: BAT.1, to: J1, length_m: 1.2, gauge: 2.5 mm2}
  - {circuit: plus_a, from: J1, to: A.1, length_m: 0.6, gauge: 1 mm2}
  - {circuit: branch, from: J1, to: J2, length_m: 0.8, gauge: 1.5 mm2}
  - {circuit: plus_b, from: J2, to: B.1, length_m: 0.5, gauge: 1 mm2}
  - {circuit: ground_a, from: A.2, to: G, length_m: 0.7, gauge: 1 mm2}
  - {circuit: ground_b, from: B.2, to: G, length_m: 0.6, gauge: 1 mm2}
  - {circuit: ground, from: G, to: BAT.2, length_m: 1.4, gauge: 2.5 mm2}
  - {circuit: sensor_ground, from: A.3, to: S, length_m: 1.1, gauge: 0.75 mm2}
  - {circuit: feed, from: A.4, to: V, length_m: 1.1, gauge: 0.5 mm2}
  - {circuit: crank_plus, from: CKP.1, to: J2, length_m: 1.3, gauge: 0.5 mm2}
  - {circuit: crank_ground, from: CKP.2, to: S, length_m: 0.9, gauge: 0.5 mm2}
  - {circuit: crank_signal, from: CKP.3, to: B.3, length_m: 1.9, gauge: 0.5 mm2}
  - {circuit: coolant_signal, from: CLT.1, to: A.5, length_m: 1.6, gauge: 0.5 mm2}
  - {circuit: coolant_ground, from: CLT.2, to: S, length_m: 0.6, gauge: 0.5 mm2}
  - {circuit: air_signal, from: IAT.1, to: A.6, length_m: 1.7, gauge: 0.5 mm2}
  - {circuit: air_ground, from: IAT.2, to: S, length_m: 0.7, gauge: 0.5 mm2}
  - {circuit: manifold_feed, from: MAP.1, to: V, length_m: 0.6, gauge: 0.5 mm2}
  - {circuit: manifold_ground, from: MAP.2, to: S, length_m: 0.6, gauge: 0.5 mm2}
  - {circuit: manifold_signal, from: MAP.3, to: A.7, length_m: 1.8, gauge: 0.5 mm2}
  - {circuit: throttle_feed, from: TPS.1, to: V, length_m: 0.8, gauge: 0.5 mm2}
  - {circuit: throttle_ground, from: TPS.2, to: S, length_m: 0.8, gauge: 0.5 mm2}
  - {circuit: throttle_signal, from: TPS.3, to: A.8, length_m: 1.9, gauge: 0.5 mm2}
  - {circuit: oil_signal, from: OPS.1, to: B.4, length_m: 2.2, gauge: 0.5 mm2}
  - {circuit: oil_ground, from: OPS.2, to: G, length_m: 0.4, gauge: 0.5 mm2}
  - {circuit: coil_1_plus, from: C1.1, to: J2, length_m: 0.9, gauge: 1 mm2}
  - {circuit: coil_2_plus, from: C2.1, to: J2, length_m: 1.0, gauge: 1 mm2}
  - {circuit: coil_3_plus, from: C3.1, to: J2, length_m: 1.1, gauge: 1 mm2}
  - {circuit: coil_1, from: C1.2, to: B.5, length_m: 1.2, gauge: 1 mm2}
  - {circuit: coil_2, from: C2.2, to: B.6, length_m: 1.3, gauge: 1 mm2}
  - {circuit: coil_3, from: C3.2, to: B.7, length_m: 1.4, gauge: 1 mm2}
  - {circuit: injector_1_plus, from: I1.1, to: J1, length_m: 0.9, gauge: 0.5 mm2}
  - {circuit: injector_2_plus, from: I2.1, to: J1, length_m: 1.0, gauge: 0.5 mm2}
  - {circuit: injector_3_plus, from: I3.1, to: J1, length_m: 1.1, gauge: 0.5 mm2}
  - {circuit: injector_1, from: I1.2, to: B.8, length_m: 1.2, gauge: 0.5 mm2}
  - {circuit: injector_2, from: I2.2, to: B.9, length_m: 1.3, gauge: 0.5 mm2}
  - {circuit: injector_3, from: I3.2, to: B.10, length_m: 1.4, gauge: 0.5 mm2}
buses:
  vehicle:
    messages:
      fast: {id: 0x120, length_bytes: 8, sender: controller, period_ms: 20, signals: {
        speed: {start_bit: 0, length_bits: 16, unit: rpm, carries: engine_speed},
        sync: {start_bit: 16, length_bits: 8, carries: sync_state},
        oil_low: {start_bit: 24, length_bits: 8, carries: oil_low},
        supply: {start_bit: 32, length_bits: 16, scale: 0.001, unit: V, carries: supply_voltage}}}
      slow: {id: 0x121, length_bytes: 8, sender: controller, period_ms: 50, signals: {
        coolant: {start_bit: 0, length_bits: 16, scale: 0.01, offset: -100, unit: degC, carries: coolant},
        air: {start_bit: 16, length_bits: 16, scale: 0.01, offset: -100, unit: degC, carries: air},
        manifold: {start_bit: 32, length_bits: 16, scale: 0.01, unit: kPa, carries: manifold},
        throttle: {start_bit: 48, length_bits: 16, scale: 0.01, unit: "%", carries: throttle}}}
controller:
  supply: A.1
  ground: A.2
  more_supplies: [B.1]
  more_grounds: [B.2]
  sensor_grounds: [A.3]
  references: [{terminal: A.4, voltage_v: 5}]
  inputs:
    - {terminal: B.3, pull_up_ohm: 2200}
    - {terminal: B.4, pull_up_ohm: 4700}
    - {terminal: A.5, pull_up_ohm: 2200}
    - {terminal: A.6, pull_up_ohm: 2200}
    - {terminal: A.7, input_ohm: 470000}
    - {terminal: A.8, input_ohm: 470000}
  analog:
    oil_low: {terminal: B.4, unit: count, ratiometric: false, low_v: -1, fallback: 0, value_at_volts: [[1, 1], [4, 0]]}
    coolant: {terminal: A.5, unit: degC, low_v: 0.1, high_v: 4.96, fallback: 80, value_at_volts: ROWS}
    air: {terminal: A.6, unit: degC, low_v: 0.1, high_v: 4.96, fallback: 25, value_at_volts: ROWS}
    manifold: {terminal: A.7, unit: kPa, low_v: 0.25, high_v: 4.75, fallback: 100, value_at_volts: [[0.5, 20], [4.5, 250]]}
    throttle: {terminal: A.8, unit: "%", low_v: 0.25, high_v: 4.75, fallback: 0, value_at_volts: [[0.5, 0], [4.5, 100]]}
  triggers:
    crank: {terminal: B.3, wheel: {teeth: 36, missing: [36]}, offset_deg: 40}
)";

TEST(HandMadeBenches, OfThreeCylindersWhatTwoPinsShareIsNotProven) {
  EXPECT_THAT(ProvenOf("three cylinders", WithRows(kThreeCylinders)),
              testing::UnorderedElementsAre(
                  "plus", "ground", "sensor_ground", "feed", "crank_plus", "crank_ground",
                  "crank_signal", "coolant_signal", "coolant_ground", "air_signal", "air_ground",
                  "manifold_feed", "manifold_ground", "manifold_signal", "throttle_feed",
                  "throttle_ground", "throttle_signal", "oil_signal", "oil_ground"));
}

}  // namespace
}  // namespace drycrank::study
