// SPDX-License-Identifier: Apache-2.0
//
// Faults of every kind as one flow mapping, on the bench of tests/bad_profiles/base/wired.yaml.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"

namespace drycrank::profile {
namespace {

class LoadFaultText : public testing::Test {
 protected:
  Fault Good(const std::string& yaml) {
    ParsedFault parsed = ParseFault(*bench_, yaml);
    EXPECT_TRUE(parsed.fault) << yaml
                              << (parsed.problems.empty() ? "" : Format(parsed.problems[0]));
    return parsed.fault.value_or(Fault());
  }
  std::string Bad(const std::string& yaml) {
    const ParsedFault parsed = ParseFault(*bench_, yaml);
    EXPECT_FALSE(parsed.fault) << yaml;
    return parsed.problems.empty() ? "" : Format(parsed.problems[0]);
  }
  std::optional<Bench> bench_ = LoadBench(DRYCRANK_TESTS_DIR "/bad_profiles/base/wired.yaml").bench;
};

TEST_F(LoadFaultText, EveryKindOfTheTableIsRead) {
  for (const char* yaml : {"{kind: open, at: CLT.1}",
                           "{kind: open, at: coolant_signal}",
                           "{kind: short_to_ground, at: S_GND}",
                           "{kind: short_to_supply, at: CLT.1, ohm: 0.5}",
                           "{kind: short_together, at: CLT.1, with: CLT.2}",
                           "{kind: series_resistance, at: coolant_signal, ohm: 220 ohm}",
                           "{kind: leakage, at: CLT.1, ohm: 10 kohm}",
                           "{kind: leakage, at: CLT.1, with: BAT.1, ohm: 10 kohm}",
                           "{kind: terminals_swapped, at: CKP.1, with: CKP.3}",
                           "{kind: connectors_swapped, at: CLT, with: IAT}",
                           "{kind: ground_offset, at: ECU.5, volts: 200 mV}",
                           "{kind: not_fitted, at: coolant}",
                           "{kind: not_fitted, at: crank}",
                           "{kind: wheel_offset, at: crank, deg: -10}",
                           "{kind: tooth_missing, at: crank, tooth: 35}",
                           "{kind: sensor_offset, at: coolant, value: 9 degF}",
                           "{kind: message_missing, at: temps}",
                           "{kind: message_late, at: temps, factor: 2}",
                           "{kind: message_early, at: temps, early_ms: 40}",
                           "{kind: message_doubled, at: temps}",
                           "{kind: identifier_wrong, at: temps, id: 0x142}",
                           "{kind: length_wrong, at: temps, length_bytes: 4}",
                           "{kind: bytes_swapped, at: boost.boost}",
                           "{kind: value_frozen, at: temps.coolant}",
                           "{kind: value_frozen, at: temps}",
                           "{kind: counter_stuck, at: temps}",
                           "{kind: counter_jumps, at: temps, by: 15, every: 3}",
                           "{kind: node_gone, at: controller}",
                           "{kind: babbling_node, at: car, id: 1, period_ms: 1 ms}",
                           "{kind: error_frames, at: car, period_ms: 50 ms}",
                           "{kind: bus_off, at: controller}",
                           "{kind: bus_off, at: car}",
                           "{kind: checksum_wrong, at: temps}",
                           "{kind: layout, at: temps.coolant, byte_order: big, offset: 0}",
                           "{kind: calibration, at: coolant_temperature, gain: 1.1, value: 2 K}",
                           "{kind: told, at: decoder, advance_deg: 42 deg}",
                           "{kind: told, at: decoder, firing_order: [1]}",
                           "{kind: told, at: crank, offset_deg: 310}",
                           "{kind: told, at: crank, edge: rising}",
                           "{kind: told, at: crank, wheel: 36-1}"}) {
    Good(yaml);
  }
}

TEST_F(LoadFaultText, ATerminationIsCalledByBusAndNode) {
  bench_->buses[0].nodes = {{"ecu", "ECU.6", "ECU.8", 120, {}}, {"tap", "IAT.1", "IAT.2", 0, {}}};
  EXPECT_EQ(Good("{kind: termination, at: car.ecu, ohm: 0}").As<fault::Termination>()->ohm, 0);
  EXPECT_EQ(Good("{kind: termination, at: car.tap, ohm: 1 kohm}").As<fault::Termination>()->ohm,
            1000);
  EXPECT_EQ(Bad("{kind: termination, at: car.ecu}"),
            "fault:1:1: fault has no 'ohm'; add 'ohm: 0'");
  EXPECT_EQ(Bad("{kind: termination, at: car.ecv, ohm: 0}"),
            "fault:1:25: there is no node of a bus (BUS.NODE) 'car.ecv'; did you mean 'car.ecu'?");
  EXPECT_THAT(Bad("{kind: termination, at: car.ecu, ohm: 120}"),
              testing::HasSubstr("a size that changes nothing"));
  EXPECT_THAT(Bad("{kind: termination, at: car.tap, ohm: 0}"),
              testing::HasSubstr("a size that changes nothing"));
}

TEST_F(LoadFaultText, AKindNearNoneIsAnsweredWithAllOfThem) {
  const std::string problem = Bad("{kind: gremlin, at: CLT.1}");
  EXPECT_THAT(problem, testing::HasSubstr("known: harness: open, short_to_ground, "));
  EXPECT_THAT(problem, testing::HasSubstr("; bus: message_missing, "));
  for (const std::string& kind : FaultKindNames()) {
    EXPECT_THAT(problem, testing::ContainsRegex("[ ]" + kind + "(,|;|$)")) << kind;
  }
}

TEST_F(LoadFaultText, ASwapByAnotherNameIsSuggested) {
  EXPECT_THAT(Bad("{kind: swap_terminals, at: CKP.1, with: CKP.3}"),
              testing::HasSubstr("did you mean 'terminals_swapped'?"));
  EXPECT_THAT(Bad("{kind: swapped_connectors, at: CLT, with: IAT}"),
              testing::HasSubstr("did you mean 'connectors_swapped'?"));
}

TEST_F(LoadFaultText, NumbersAreInTheirUnits) {
  const Fault offset = Good("{kind: sensor_offset, at: coolant, value: 9 degF}");
  EXPECT_NEAR(offset.As<fault::SensorOffset>()->value, 5, 1e-9);
  const Fault ground = Good("{kind: ground_offset, at: ECU.5, volts: 200 mV}");
  EXPECT_DOUBLE_EQ(ground.As<fault::GroundOffset>()->volts, 0.2);
  const Fault layout = Good("{kind: layout, at: temps.coolant, byte_order: big, start_bit: 7}");
  const auto* wrong = layout.As<fault::Layout>();
  ASSERT_NE(wrong, nullptr);
  EXPECT_EQ(wrong->byte_order, ByteOrder::kBig);
  EXPECT_EQ(wrong->start_bit, 7);
  EXPECT_FALSE(wrong->scale);
}

TEST_F(LoadFaultText, WhatIsWrongIsSaidWithItsPlace) {
  EXPECT_EQ(Bad("{kind: open, at: CLT.3}"),
            "fault:1:18: connector 'CLT' has no pin '3'; its pins: 1, 2");
  EXPECT_THAT(Bad("{kind: opne, at: CLT.1}"), testing::HasSubstr("did you mean 'open'?"));
  EXPECT_THAT(Bad("{kind: open, at: CLT.1, during: [idle]}"), testing::HasSubstr("unknown key"));
  EXPECT_NE(Bad("open CLT.1"), "");
  EXPECT_NE(Bad(""), "");
  EXPECT_NE(Bad("{kind: open, at: [CLT.1]"), "");
  EXPECT_NE(Bad(std::string(5000, '[')), "");
  EXPECT_NE(Bad("{kind: connectors_swapped, at: CLT, with: CKP}"), "");
}

// Spare wires lead to nothing that is modelled: a fault there would do nothing.
TEST_F(LoadFaultText, AFaultThatNothingCouldNoticeIsRefused) {
  Connector& plug = bench_->connectors.emplace_back();
  plug.name = "SPA";
  plug.pins = {"1", "2"};
  Wire& wire = bench_->wires.emplace_back();
  wire.circuit = "spare";
  wire.from = "SPA.1";
  wire.to = "SPA.2";
  for (const char* yaml :
       {"{kind: open, at: spare}", "{kind: open, at: SPA.1}",
        "{kind: short_to_ground, at: SPA.2}", "{kind: series_resistance, at: spare, ohm: 10}"}) {
    EXPECT_THAT(Bad(yaml), testing::HasSubstr("would do nothing")) << yaml;
  }
}

// A spare feed hangs on the battery, and nothing that is modelled hangs on it: open, it moves
// nothing; shorted to ground, it moves all that the battery feeds.
TEST_F(LoadFaultText, AWireWithNothingAtItsEndIsNotOpened) {
  Connector& plug = bench_->connectors.emplace_back();
  plug.name = "SPA";
  plug.pins = {"1", "2", "3"};
  const auto wire = [&](const std::string& circuit, const std::string& from,
                        const std::string& to) {
    Wire& made = bench_->wires.emplace_back();
    made.circuit = circuit;
    made.from = from;
    made.to = to;
  };
  wire("spare_supply", bench_->supplies[0].plus, "SPA.1");
  wire("spare_pair", "SPA.2", "SPA.3");
  for (const char* yaml : {"{kind: open, at: spare_supply}", "{kind: open, at: SPA.1}",
                           "{kind: series_resistance, at: SPA.1, ohm: 10}",
                           "{kind: short_together, at: SPA.2, with: CLT.1}",
                           "{kind: terminals_swapped, at: SPA.2, with: SPA.3}"}) {
    EXPECT_THAT(Bad(yaml), testing::HasSubstr("would do nothing")) << yaml;
  }
  for (const char* yaml : {"{kind: short_to_ground, at: SPA.1}", "{kind: open, at: CLT.1}",
                           "{kind: short_together, at: SPA.1, with: CLT.1}",
                           "{kind: terminals_swapped, at: SPA.2, with: CLT.1}"}) {
    Good(yaml);
  }
}

// Of no size, a whole turn, what is joined already.
TEST_F(LoadFaultText, AFaultOfNoSizeIsRefused) {
  for (const char* yaml :
       {"{kind: ground_offset, at: CLT.1, volts: 0}",
        "{kind: sensor_offset, at: coolant, value: 0}", "{kind: wheel_offset, at: crank, deg: 0}",
        "{kind: wheel_offset, at: crank, deg: 360}",
        "{kind: calibration, at: coolant_temperature, gain: 1}"}) {
    EXPECT_THAT(Bad(yaml), testing::HasSubstr("a size that changes nothing")) << yaml;
  }
  for (const char* yaml :
       {"{kind: short_to_ground, at: BAT.2}", "{kind: leakage, at: BAT.2, ohm: 10}",
        "{kind: short_to_supply, at: BAT.1}", "{kind: short_together, at: CLT.1, with: ECU.4}"}) {
    EXPECT_THAT(Bad(yaml), testing::HasSubstr("joined to")) << yaml;
  }
}

}  // namespace
}  // namespace drycrank::profile
