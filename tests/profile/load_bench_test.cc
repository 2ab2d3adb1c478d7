// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "tests/profile/scratch.h"

namespace drycrank::profile {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

class LoadBenchFile : public Scratch {
 protected:
  // The bench of tests/bad_profiles/base/wired.yaml with a section of its own.
  Bench Wired(const std::string& section) {
    const LoadedBench loaded =
        Load("include: " DRYCRANK_TESTS_DIR "/bad_profiles/base/wired.yaml\n" + section);
    EXPECT_EQ(Text(loaded.problems), "");
    return loaded.bench.value_or(Bench());
  }
};

TEST_F(LoadBenchFile, LeastBenchHasDefaults) {
  const LoadedBench loaded = Load("kind: bench\nname: a\nengine: {firing_order: [1, 3, 4, 2]}\n");
  ASSERT_TRUE(loaded.bench) << Text(loaded.problems);
  const Bench& bench = *loaded.bench;
  EXPECT_EQ(bench.title, "a");
  EXPECT_DOUBLE_EQ(bench.barometric_pressure_kpa, 101.325);
  // Even over the cycle: 720 / 4 = 180 degrees apart.
  EXPECT_THAT(bench.engine.firing_angles_deg, ElementsAre(0, 180, 360, 540));
  ASSERT_EQ(bench.stimuli.size(), 1u);
  EXPECT_EQ(bench.stimuli[0].name, "engine_speed");
  EXPECT_EQ(bench.stimuli[0].unit, "rpm");
  EXPECT_DOUBLE_EQ(bench.stimuli[0].max, 20000);
  EXPECT_THAT(loaded.files, ElementsAre(Path("bench.yaml")));
}

TEST_F(LoadBenchFile, TwoStrokesFireEachTurn) {
  const LoadedBench loaded =
      Load("kind: bench\nname: a\nengine: {strokes: 2, firing_order: [1, 2, 3]}\n");
  ASSERT_TRUE(loaded.bench);
  EXPECT_THAT(loaded.bench->engine.firing_angles_deg, ElementsAre(0, 120, 240));
}

// Three chambers to a rotor, and a shaft that turns three times as fast as it.
TEST_F(LoadBenchFile, RotorsFireEachTurnOfTheShaft) {
  const LoadedBench loaded =
      Load("kind: bench\nname: a\nengine: {kind: rotary, firing_order: [1, 2]}\n");
  ASSERT_TRUE(loaded.bench);
  EXPECT_THAT(loaded.bench->engine.firing_angles_deg, ElementsAre(0, 180));
  EXPECT_EQ(loaded.bench->engine.cycle_deg(), 360);
}

TEST_F(LoadBenchFile, EngineSpeedComesFirstWhereverItIsWritten) {
  const Bench bench = Wired(
      "stimuli:\n  coolant_temperature: {unit: °C, min: 0 degF, max: 212 degF, initial: 300 K}\n"
      "  boost_pressure: {unit: psi, reference: gauge, min: -14, max: 2 bar}\n"
      "  engine_speed: {max: 9000, initial: 0}\n");
  ASSERT_EQ(bench.stimuli.size(), 3u);
  EXPECT_EQ(bench.stimuli[0].name, "engine_speed");
  EXPECT_DOUBLE_EQ(bench.stimuli[0].max, 9000);
  EXPECT_EQ(bench.stimuli[1].unit, "degC");
  EXPECT_NEAR(bench.stimuli[1].min, -17.7778, 1e-4);  // (0 - 32) / 1.8
  EXPECT_NEAR(bench.stimuli[1].max, 100, 1e-9);
  EXPECT_NEAR(bench.stimuli[1].initial, 26.85, 1e-9);  // 300 - 273.15
  EXPECT_EQ(bench.stimuli[2].reference, PressureReference::kGauge);
  EXPECT_NEAR(bench.stimuli[2].max, 29.0075, 1e-4);  // 200 kPa / 6.894757
}

TEST_F(LoadBenchFile, WheelHasToothAtEachPlaceNotMissing) {
  const Bench bench = Wired(
      "triggers: {crank: {wheel: {name: 8-1, teeth: 8, missing: [3], tooth_fraction: 0.25},\n"
      "  offset_deg: 90, pickup: {kind: variable_reluctance, plus: CKP.1, minus: CKP.2, peak_v: "
      "500 mV}}}\n");
  const Wheel& wheel = bench.triggers.at(0).wheel;
  ASSERT_EQ(wheel.teeth.size(), 7u);
  EXPECT_EQ(wheel.name, "8-1");
  // 45 degrees a place, of which a quarter is tooth.
  EXPECT_DOUBLE_EQ(wheel.teeth[1].begin_deg, 45);
  EXPECT_DOUBLE_EQ(wheel.teeth[1].end_deg, 56.25);
  EXPECT_DOUBLE_EQ(wheel.teeth[2].begin_deg, 135);
  const auto& coil = std::get<VariableReluctancePickup>(bench.triggers[0].pickup);
  EXPECT_DOUBLE_EQ(coil.peak_v, 0.5);
  EXPECT_DOUBLE_EQ(coil.coil_ohm, 900);
}

TEST_F(LoadBenchFile, MissingAsCountMeansTheLastPlaces) {
  const Bench bench = Wired(
      "triggers: {crank: {wheel: {teeth: 36, missing: 2},\n"
      "  pickup: {kind: hall, supply: CKP.1, ground: CKP.2, signal: CKP.3}}}\n");
  ASSERT_EQ(bench.triggers.at(0).wheel.teeth.size(), 34u);
  EXPECT_DOUBLE_EQ(bench.triggers[0].wheel.teeth.back().begin_deg, 330);  // place 34: 33 * 10
}

TEST_F(LoadBenchFile, AbsoluteSensorOnGaugeStimulusHasItsRangeInGauge) {
  const Bench bench = Wired(
      "sensors: {map: {measures: boost_pressure, kind: ratiometric, reference: absolute, "
      "low_value: 20 kPa,\n"
      "  high_value: 4 bar, min: 10, max: 400, supply: IAT.1, ground: IAT.2, signal: ECU.6}}\n");
  EXPECT_DOUBLE_EQ(bench.sensors.at(0).min, 10 - 101.325);
  EXPECT_DOUBLE_EQ(bench.sensors[0].max, 400 - 101.325);
  EXPECT_DOUBLE_EQ(std::get<RatiometricSensor>(bench.sensors[0].model).high_value, 400);
}

TEST_F(LoadBenchFile, SensorRangeIsThatOfItsModelWhenLeftOut) {
  const Bench bench = Wired(
      "sensors:\n"
      "  a: {measures: coolant_temperature, kind: ntc, ohm_at_degc: [[-30, 200 kohm], [110 °C, "
      "511]], plus: CLT.1, minus: CLT.2}\n"
      "  b: {measures: boost_pressure, kind: ratiometric, low_value: 0, high_value: 100, supply: "
      "IAT.1, ground: IAT.2, signal: ECU.6}\n"
      "  c: {measures: coolant_temperature, kind: platinum, plus: ECU.3, minus: ECU.8}\n"
      "controller: {supply: ECU.1, ground: ECU.2}\nbuses: {}\ndisplay: {}\n");
  EXPECT_DOUBLE_EQ(bench.sensors.at(0).min, -30);
  EXPECT_DOUBLE_EQ(bench.sensors[0].max, 110);
  // 10..90 % for 0..100, so 1.25 per %: 2 % is 8 % below zero, 98 % is 8 % above the top.
  EXPECT_NEAR(bench.sensors[1].min, -10, 1e-9);
  EXPECT_NEAR(bench.sensors[1].max, 110, 1e-9);
  EXPECT_DOUBLE_EQ(bench.sensors[2].min, -200);  // IEC 60751
  EXPECT_DOUBLE_EQ(bench.sensors[2].max, 850);
}

TEST_F(LoadBenchFile, WiresHaveTheirGaugesResistance) {
  const Bench bench = Wired(
      "wires:\n  - {circuit: coolant_signal, from: CLT.1, to: S_GND, gauge: 20 AWG, length_m: 30 "
      "cm, colour: 5}\n");
  EXPECT_DOUBLE_EQ(bench.wires.at(0).mohm_per_m, 33.301);  // ASTM B258
  EXPECT_DOUBLE_EQ(bench.wires[0].length_m, 0.3);
  EXPECT_EQ(bench.wires[0].colour, "5");
}

TEST_F(LoadBenchFile, AWiresOwnResistanceStandsInPlaceOfItsGauges) {
  const Bench bench = Wired(
      "wires:\n  - {circuit: coolant_signal, from: CLT.1, to: S_GND, gauge: 20 AWG, mohm_per_m: "
      "41, "
      "length_m: 2}\n");
  EXPECT_DOUBLE_EQ(bench.wires.at(0).Ohm(), 0.082);
  EXPECT_DOUBLE_EQ(bench.wires[0].area_mm2, 0.5176);
}

TEST_F(LoadBenchFile, DecoderIsToldTheEnginesDataUnlessWritten) {
  const Bench bench = Wired("");
  const Decoder& decoder = bench.controller->decoder;
  EXPECT_EQ(decoder.firing_order, bench.engine.firing_order);
  EXPECT_EQ(decoder.strokes, 4);
  EXPECT_EQ(decoder.primary, 0);
  EXPECT_TRUE(decoder.cams.empty());
}

TEST_F(LoadBenchFile, DisplayKnowsTheMessagesAndItsOwnOverThem) {
  EXPECT_EQ(Wired("").display->layouts.size(), 2u);
  const Bench bench = Wired(
      "display:\n"
      "  layouts: {temps: {id: 0x140, signals: {coolant: {start_bit: 0, length_bits: 8, unit: "
      "degF}}}}\n"
      "  gauges: {c: {signal: temps.coolant, unit: degC, warn_above: 212 degF, hysteresis: 9 "
      "degF}}\n");
  ASSERT_EQ(bench.display->layouts.size(), 2u);
  EXPECT_EQ(bench.display->layouts[0].signals[0].unit, "degF");
  EXPECT_EQ(bench.buses[0].messages[0].signals[0].unit, "degC");
  const Gauge& gauge = bench.display->gauges.at(0);
  EXPECT_EQ(gauge.message + " " + gauge.signal, "temps coolant");
  EXPECT_NEAR(*gauge.warn_above, 100, 1e-9);
  EXPECT_NEAR(gauge.hysteresis, 5, 1e-9);  // a difference: 9 degF = 5 degC
}

TEST_F(LoadBenchFile, ReadoutsAreWhatMustBeShown) {
  const Bench bench = Wired(
      "readouts:\n"
      "  c: {signal: temps.coolant, unit: degF, warn_above: 100 degC, values: {-40: cold}}\n");
  ASSERT_EQ(bench.readouts.size(), 1u);
  const Readout& readout = RequiredReadouts(bench).at(0);
  EXPECT_EQ(readout.message + " " + readout.signal, "temps coolant");
  EXPECT_NEAR(*readout.warn_above, 212, 1e-9);
  EXPECT_EQ(readout.values.at(-40), "cold");
  EXPECT_EQ(readout.dashes, "---");
}

TEST_F(LoadBenchFile, WithoutReadoutsWhatWasSetMustBeShown) {
  const Bench bench = Wired(
      "display:\n"
      "  gauges: {c: {signal: temps.coolant, unit: degC, warn_above: 100, hysteresis: 4, "
      "warn_below: 0, hysteresis_below: 3, page: 2, stale_ms: 700}}\n");
  const Readout readout = RequiredReadouts(bench).at(0);
  EXPECT_EQ(readout.warn_above_ends, 96);
  EXPECT_EQ(readout.warn_below_ends, 3);
  EXPECT_EQ(readout.page, 2);
  EXPECT_EQ(readout.dashes_after_ms, 700);
}

// A bench that writes neither does not fail by its own defaults; one that writes it is taken at its
// word.
TEST_F(LoadBenchFile, AGaugeThatSaysNoTimeWaitsAsLongAsItMust) {
  const char* const must = "readouts: {c: {signal: temps.coolant, dashes_after_ms: 700}}\n";
  const Bench taken =
      Wired(std::string(must) + "display:\n  gauges: {c: {signal: temps.coolant}}\n");
  EXPECT_EQ(taken.display->gauges[0].stale_ms, 700);
  EXPECT_TRUE(taken.display->gauges[0].stale_is_taken);
  const Bench said = Wired(std::string(must) +
                           "display:\n  gauges: {c: {signal: temps.coolant, stale_ms: 1000}}\n");
  EXPECT_EQ(said.display->gauges[0].stale_ms, 1000);
  EXPECT_FALSE(said.display->gauges[0].stale_is_taken);
}

// Five periods, and a quarter of a second at least: ours.
TEST(UsualDashes, AreFivePeriodsButNotTooSoon) {
  EXPECT_EQ(UsualDashesAfterMs(100), 500);
  EXPECT_EQ(UsualDashesAfterMs(10), 250);
  EXPECT_EQ(UsualDashesAfterMs(0), 250);
}

TEST_F(LoadBenchFile, MessagesFindTheirCounterAndChecksum) {
  const Message message = Wired("").buses.at(0).messages.at(0);
  EXPECT_EQ(message.id, 0x140u);
  EXPECT_EQ(message.sender, Sender::kController);
  EXPECT_EQ(message.counter_signal, 2);
  EXPECT_EQ(message.checksum_signal, 3);
  EXPECT_EQ(message.checksum, ChecksumKind::kCrc8Autosar);
  EXPECT_EQ(message.signals[1].values.at(3), "synchronised");
}

TEST_F(LoadBenchFile, OwnKeysWinOverIncludedOnesAndLaterFilesOverEarlier) {
  Write("parts/one.yaml", "label: one\nfamily: small\npins: 2\n");
  Write("parts/two.yaml", "include: deep/three.yaml\nlabel: two\n");
  Write("parts/deep/three.yaml", "pins: [A, B, 7]\nlabel: three\n");
  const Bench bench = Wired(
      "connectors:\n  BAT: {pins: 2}\n  ECU: {pins: 8}\n  CKP: {pins: 3}\n  CLT: {pins: 2}\n  IAT: "
      "{pins: 2}\n"
      "  X: {include: [parts/one.yaml, parts/two.yaml]}\n  Y: {include: parts/one.yaml, pins: "
      "3}\n");
  const Connector& x = bench.connectors.at(5);
  EXPECT_EQ(x.label, "two");
  EXPECT_EQ(x.family, "small");
  EXPECT_THAT(x.pins, ElementsAre("A", "B", "7"));
  EXPECT_THAT(bench.connectors.at(6).pins, ElementsAre("1", "2", "3"));
}

// Worked from the file: profiles/benches/hill_climb.yaml.
TEST(HillClimb, LoadsWithTheNumbersOfItsFile) {
  const LoadedBench loaded = LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
  std::string said;
  for (const Diagnostic& problem : loaded.problems) said += Format(problem) + "\n";
  ASSERT_TRUE(loaded.bench) << said;
  const Bench& bench = *loaded.bench;
  EXPECT_EQ(bench.stimuli.size(), 13u);
  EXPECT_EQ(bench.triggers[0].wheel.name, "60-2");
  EXPECT_EQ(bench.triggers[0].wheel.teeth.size(), 58u);
  EXPECT_DOUBLE_EQ(bench.supplies[0].series_ohm, 0.02);
  EXPECT_EQ(bench.stimuli[static_cast<std::size_t>(bench.triggers[1].advance_stimulus)].name,
            "intake_cam_advance");
  EXPECT_DOUBLE_EQ(bench.controller->inputs[0].input_ohm, 20000);
  EXPECT_EQ(bench.controller->inputs[0].minus, "ECU.11");
  EXPECT_THAT(bench.controller->decoder.cams, ElementsAre(1));
  EXPECT_EQ(bench.controller->analog[0].value_at_volts.front(), (std::pair{0.4804, 140.0}));
  EXPECT_DOUBLE_EQ(bench.buses[0].bitrate_bps, 500000);
  EXPECT_EQ(FindSignal(bench, "engine_fast.crc").signal, 6);
}

// A supply pin is a list on any plug; what says that a value was measured is resolved in its
// message.
TEST_F(LoadBenchFile, FurtherPinsAndValidityAreRead) {
  const LoadedBench loaded = Load(R"(kind: bench
name: a
engine: {firing_order: [1]}
supplies: {battery: {plus: B.1, minus: B.2}}
connectors: {B: {pins: 2}, E: {pins: 4}, F: {pins: 2}}
buses:
  car:
    messages:
      m:
        id: 1
        sender: controller
        signals:
          angle: {start_bit: 8, length_bits: 8, valid_when: {signal: sync, equals: found}, carries: engine_speed, unit: rpm}
          sync: {start_bit: 0, length_bits: 8, values: {2: found}, carries: sync_state}
          speed: {start_bit: 16, length_bits: 8, not_available: 255, carries: engine_speed, unit: rpm}
controller:
  supply: E.1
  ground: E.2
  more_supplies: [F.1]
  more_grounds: [E.3, F.2]
  inputs: [{terminal: E.4, pull_up_ohm: 2200}]
  analog: {t: {unit: degC, terminal: E.4, value_at_volts: [[0, 0], [5, 100]]}}
)");
  ASSERT_TRUE(loaded.bench) << Text(loaded.problems);
  const Controller& controller = *loaded.bench->controller;
  EXPECT_THAT(controller.more_supplies, ElementsAre("F.1"));
  EXPECT_THAT(controller.more_grounds, ElementsAre("E.3", "F.2"));
  // Left out, low_v is no limit: 2 mV below ground are no broken wire.
  EXPECT_LT(controller.analog[0].low_v, -1e6);
  const auto& signals = loaded.bench->buses[0].messages[0].signals;
  EXPECT_EQ(signals[0].valid_signal, 1);
  EXPECT_EQ(signals[0].valid_equals, 2);
  EXPECT_EQ(signals[2].not_available, 255);
}

TEST_F(LoadBenchFile, ASignalCannotVouchForItself) {
  const LoadedBench loaded = Load(
      "kind: bench\nname: a\nengine: {firing_order: [1]}\nbuses:\n  car:\n    messages:\n      m:\n"
      "        id: 1\n        signals:\n"
      "          x: {start_bit: 0, length_bits: 8, valid_when: {signal: x, equals: 1}}\n"
      "          y: {start_bit: 8, length_bits: 8, valid_when: {signal: z, equals: 1}}\n");
  EXPECT_THAT(Text(loaded.problems), HasSubstr("cannot say of itself that it is valid"));
  EXPECT_THAT(Text(loaded.problems), HasSubstr("there is no signal 'z'"));
}

}  // namespace
}  // namespace drycrank::profile
