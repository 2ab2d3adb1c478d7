// SPDX-License-Identifier: Apache-2.0
//
// The hill-climb bench told wrong in seven ways: each is named once, at the line that was changed,
// with the line of what is built. The twin: as shipped, nothing is said. Wrong values are worked by
// hand from the bench's own file.
#include "proofread/told.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <tuple>

#include "tests/proofread/edited_bench.h"

namespace drycrank::proofread {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::MatchesRegex;
using testing::StartsWith;

constexpr char kController[] = "\ncontroller:";
constexpr char kDecoder[] = "\n  decoder:";

// One problem, at the edited line, that names `said` and the line of what is built.
void ExpectOne(const EditedBench& bench, int built_line, const std::string& said) {
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u)
      << (proof.problems.empty() ? "" : Format(proof.problems.back()));
  EXPECT_THAT(Format(proof.problems[0]), AllOf(StartsWith(bench.At(bench.line())),
                                               HasSubstr(bench.At(built_line)), HasSubstr(said)));
}

TEST(Told, ShippedBenchesAgreeWithThemselves) {
  for (const char* name : {"hill_climb", "boat_v8", "generator", "kart", "hovercraft", "buggy"}) {
    const Proof proof = EditedBench(name).Read();
    ASSERT_TRUE(proof.bench) << name;
    for (const Diagnostic& problem : proof.problems) ADD_FAILURE() << Format(problem);
  }
}

// All that the hill-climb bench says is compared.
TEST(Told, OfTheHillClimbBenchNothingIsLeftOpen) {
  for (const Diagnostic& open : EditedBench("hill_climb").Read().not_compared) {
    ADD_FAILURE() << Format(open);
  }
}

// ---- the seven --------------------------------------------------------------------------------

TEST(Told, AnotherFiringOrderIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kDecoder, "[1, 3, 4, 2]", "[1, 2, 4, 3]");
  ExpectOne(bench, bench.LineOf("\nengine:", "firing_order"),
            "is told firing order 1-2-4-3; the engine fires 1-3-4-2");
}

// 42 - 12 = 30 degrees.
TEST(Told, AnotherAdvanceIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kDecoder, "advance_deg: 12", "advance_deg: 42");
  ExpectOne(bench, bench.LineOf("\nengine:", "advance_deg"),
            "told 42 deg of ignition advance; the engine was designed for 12");
  EXPECT_THAT(bench.Read().problems[0].what, HasSubstr("each spark comes 30 deg too early"));
}

// It takes the crank to be 10 degrees further back than it is when the tooth comes at 300: what it
// means for 348 (12 before 360) comes at 338.
TEST(Told, AnotherOffsetOfTheCrankIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "offset_deg: 300", "offset_deg: 310");
  ExpectOne(bench, bench.LineOf("\ntriggers:", "offset_deg: 300"),
            "'crank' is told an offset of 310 deg; the wheel stands at 300");
  EXPECT_THAT(bench.Read().problems[0].what,
              HasSubstr("every spark and injection comes 10 deg too early"));
}

TEST(Told, AnotherWheelIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "wheels/60-2.yaml", "wheels/36-1.yaml");
  ExpectOne(bench, bench.LineOf("\ntriggers:", "wheels/60-2.yaml"),
            "'crank' is told a wheel of 35 teeth on 36 places, 36 missing; the one built has 58 "
            "teeth on 60 places, 59 and 60 missing");
}

// The pickup's output is low while metal is in front: it falls where a tooth begins.
TEST(Told, TheOtherEdgeOfTheCamIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit("conditioning: threshold", "edge: falling", "edge: rising");
  ExpectOne(bench, bench.LineOf("\n  cam_intake:", "pickup:"),
            "'cam_intake' is told that the rising edge is a tooth's begin; the output is low while "
            "metal is in front, so its falling edge is a tooth's begin");
}

TEST(Told, AnotherOffsetOfTheCamIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit("conditioning: threshold", "offset_deg: 20", "offset_deg: 50");
  ExpectOne(bench, bench.LineOf("\n  cam_intake:", "offset_deg: 20"),
            "'cam_intake' is told an offset of 50 deg; the wheel stands at 20");
  EXPECT_THAT(bench.Read().problems[0].what, HasSubstr("its edges come 30 deg too early"));
}

// At 400 kPa the sensor gives 90 % of 5 V: 4.5 V, 300 kPa by this table; wires and the shared
// ground make up to 5 mV of difference, 0.4 kPa.
TEST(Told, TheTableOfAnotherPressureSensorIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "[[0.5, 20], [4.5, 400]]", "[[0.5, 20], [4.5, 300]]");
  ExpectOne(bench, bench.LineOf("\nsensors:", "  manifold:"), "the table of 'manifold_pressure'");
  EXPECT_THAT(
      bench.Read().problems[0].what,
      MatchesRegex(".* says (299\\.[6-9]|300|300\\.[0-4]) kPa at 4\\.(49[5-9]|5|50[0-5]) V; "
                   "sensor 'manifold' gives that at 400 kPa.*"));
}

// ---- others -----------------------------------------------------------------------------------

TEST(Told, StrokesAreCompared) {
  EditedBench bench("kart");
  bench.Edit(kDecoder, "strokes: 2", "strokes: 4");
  ExpectOne(bench, bench.LineOf("\nengine:", "strokes"), "told 4 strokes; the engine has 2");
}

// The coil's leads crossed in the drawing: its voltage rises through zero at the tooth's centre.
TEST(Told, CrossedLeadsOfACoilAreNamedAtTheEdge) {
  EditedBench bench("hill_climb");
  bench.Edit("circuit: crank_plus", "ECU.10", "ECU.11");
  bench.Edit("circuit: crank_minus", "ECU.11", "ECU.10");
  bench.Edit("conditioning: zero_crossing", "edge: falling", "edge: falling");
  ExpectOne(bench, bench.LineOf("\n  crank:", "kind: variable"),
            "the coil's plus lead CKP.1 is wired to the input's minus, so its rising edge is the "
            "tooth's centre");
  bench.Edit("conditioning: zero_crossing", "edge: falling", "edge: rising");
  EXPECT_THAT(bench.Read().problems, IsEmpty());
}

TEST(Told, AnOutputThatIsHighAtATooth) {
  EditedBench bench("generator");
  bench.Edit("\n  cam:", "signal: POS.3", "signal: POS.3, low_at_tooth: false");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(proof.problems[0].what, HasSubstr("the output is high while metal is in front, so "
                                                "its falling edge is a tooth's end"));
}

// The same edges in other words: the falling edge of a 10-degree tooth at 0 is the rising edge of
// one that ends there.
TEST(Told, WhereAllEdgesComeAsExpectedTheWordsDoNotMatter) {
  EditedBench bench("generator");
  bench.Edit(
      "conditioning: threshold, high_v: 3 V, low_v: 1.5 V, edge: falling, point: begin, "
      "shaft: cam",
      "edge: falling, point: begin", "edge: rising, point: end");
  EXPECT_THAT(bench.Read().problems, IsEmpty());
}

TEST(Told, ACoilReadByTwoThresholdsIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "conditioning: zero_crossing\n      arm_v: 0.25 V",
             "conditioning: threshold");
  ExpectOne(bench, bench.LineOf("\n  crank:", "kind: variable"), "the pickup is a coil");
}

// The output pulls to ground: it comes from 5 V, never higher.
TEST(Told, AThresholdThatTheSignalNeverPassesIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit("conditioning: threshold", "high_v: 3.0 V", "high_v: 6.0 V");
  ExpectOne(bench, bench.LineOf("\n  cam_intake:", "pickup:"), "above 6 V is high");
}

TEST(Told, AWindowNarrowerThanTheCamIsTurnedIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "window_deg: 45", "window_deg: 35");
  ExpectOne(bench, bench.LineOf("\nstimuli:", "intake_cam_advance"),
            "within 35 deg; this cam can be turned by 40 deg");
}

// Its teeth begin at 20, 160, 380 and 640 of the cycle. A turn further, at 380, 520, 20 and 280,
// the nearest of them are 0, 120, 0 and 100 degrees away.
TEST(Told, AWindowInWhichBothTurnsFitIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "window_deg: 45", "window_deg: 119");
  EXPECT_THAT(bench.Read().problems, IsEmpty());
  bench.Edit(kController, "window_deg: 119", "window_deg: 121");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(Format(proof.problems[0]),
              AllOf(StartsWith(bench.At(bench.line())),
                    HasSubstr("the two turns of a cycle cannot be told apart")));
}

// Two gaps half a turn apart, built so and told so. The cam's teeth begin at 20, 160, 380 and 640
// of the cycle; half a turn further, at 200, 340, 560 and 100, the nearest of them are 40, 40, 80
// and 60 degrees away.
TEST(Told, AWheelThatLooksTheSameHalfATurnFurtherIsNamedUnlessTheCamTells) {
  EditedBench bench("hill_climb");
  const std::string twice = "{teeth: 36, missing: [18, 36]}";
  const std::string wheel =
      "{include: " + std::string(DRYCRANK_PROFILES_DIR) + "/parts/wheels/60-2.yaml}";
  bench.Edit("\ntriggers:", wheel, twice);
  bench.Edit(kController, wheel, twice);
  bench.Edit(kController, "window_deg: 45", "window_deg: 79");
  EXPECT_THAT(bench.Read().problems, IsEmpty());
  bench.Edit(kController, "window_deg: 79", "window_deg: 81");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(Format(proof.problems[0]),
              AllOf(StartsWith(bench.At(bench.line())),
                    HasSubstr("180 deg further on, so the teeth of the crank cannot be told")));
}

TEST(Told, FiringEachByItselfWithoutASecondTriggerIsNamed) {
  EditedBench bench("boat_v8");
  bench.Edit("      cam_angle:", "unit: deg, carries: cam_angle.cam",
             "unit: V, carries: supply_voltage");
  bench.Edit(kDecoder, "cams: [cam]", "cams: [], firing: sequential");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(proof.problems[0].what, HasSubstr("so it never fires"));
  bench.Edit(kDecoder, "firing: sequential", "firing: paired");
  EXPECT_THAT(bench.Read().problems, IsEmpty());
}

// The teeth of 60-2 are 6 degrees apart, 18 over the gap: a tolerance of 0.01 is one in a hundred.
TEST(Told, ARippleThatTheToleranceDoesNotBearIsNamed) {
  EditedBench bench("hill_climb");
  EXPECT_THAT(bench.Read().facts, ElementsAre(HasSubstr("the engine's is 0.2")));
  bench.Edit(kDecoder, "cams: [cam_intake]", "cams: [cam_intake]\n    ratio_tolerance: 0.01");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(proof.problems[0].what,
              HasSubstr("a ratio_tolerance of 0.01 bears a speed ripple of"));
}

// Teeth of 6 degrees, each 30, but the one at 0, which is 18 wide. A lobe reaches half the way to
// the nearer edge into the air and over half of its tooth: 3 + 3 degrees at a narrow one, 9 + 9 at
// the wide one, whose nearer edge lies 18 before its end and 24 before its begin. The same flux in
// three times the angle: 0.33 of the height.
TEST(Told, AToothThatNeverArmsAnInputThatAdaptsIsNamed) {
  const std::string wheel =
      "{tooth_edges_deg: [[0, 18], [30, 36], [60, 66], [90, 96], [120, 126], "
      "[150, 156], [180, 186], [210, 216], [240, 246], [270, 276], [300, 306], "
      "[330, 336]]}";
  EditedBench bench("hill_climb");
  const std::string part =
      std::string("{include: ") + DRYCRANK_PROFILES_DIR + "/parts/wheels/60-2.yaml}";
  bench.Edit("\ntriggers:", part, wheel);
  bench.Edit(kController, part, wheel);
  bench.Edit(kController, "arm_v: 0.25 V", "arm_v: 0.25 V\n      arm_share: 0.4");
  const auto arming = [&] {
    std::vector<std::string> said;
    for (const Diagnostic& problem : bench.Read().problems) {
      if (problem.what.find("arms at") != std::string::npos) said.push_back(Format(problem));
    }
    return said;
  };
  ASSERT_EQ(arming().size(), 1u);
  EXPECT_THAT(arming()[0],
              AllOf(StartsWith(bench.At(bench.line() + 1)),
                    HasSubstr("that of tooth 1 is 18.0 deg long, one before it 6.0 "
                              "deg, so it is 0.33 times as high"),
                    HasSubstr("no edge is seen there, and no place is found, or a wrong "
                              "one: sparks may come at a wrong degree"),
                    HasSubstr("set arm_share to 0.32 or less")));
  bench.Edit(kController, "arm_share: 0.4", "arm_share: 0.32");
  EXPECT_THAT(arming(), IsEmpty());
}

// All lobes of 60-2 are alike; they are lower where the crank is slower. Independent of the
// program: with 2 compressions a turn a lobe from a to b lasts b - a + r / 2 (sin 2b - sin 2a), the
// shortest of three over this one is 0.9 at r = 0.122, and at 0.2 is 0.835, at tooth 3.
TEST(Told, ARippleThatAnInputThatAdaptsDoesNotBearIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "arm_v: 0.25 V", "arm_v: 0.25 V\n      arm_share: 0.5");
  EXPECT_THAT(bench.Read().problems, IsEmpty());
  bench.Edit(kController, "arm_share: 0.5", "arm_share: 0.9");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(Format(proof.problems[0]),
              AllOf(StartsWith(bench.At(bench.line())),
                    HasSubstr("an arm_share of 0.9 bears a speed ripple of 0.122 while cranking; "
                              "the engine's is 0.2"),
                    HasSubstr("set 0.82 or less")));
}

TEST(Told, EvenTeethWithoutASecondTriggerAreNamed) {
  EditedBench bench("kart");
  bench.Edit(kDecoder, "cams: [reference]", "cams: []");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(proof.problems[0].what,
              HasSubstr("12 even teeth has no gap, and no second trigger is told"));
}

// At 120 degC, the end of its span, the thermistor has 388.35 ohm (tests/reference/temp_ntc.yaml):
// 5 x 388.2 / 2588.2 = 0.750 V behind 2.2 kohm, as the table says, but 5 x 388.2 / 5088.2 = 0.38 V
// behind 4.7 kohm, below the table's last row: 140 degC. The table is a part of its own.
TEST(Told, AnotherPullUpThanTheTablesIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit("terminal: ECU.20", "pull_up_ohm: 2.2 kohm", "pull_up_ohm: 4.7 kohm");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(Format(proof.problems[0]),
              AllOf(StartsWith(std::string(DRYCRANK_PROFILES_DIR) +
                               "/parts/calibrations/ntc_10k_pull_up_2k2.yaml:9:"),
                    HasSubstr("the table of 'coolant_temperature' says 140 °C at 0.38"),
                    HasSubstr(bench.At(bench.LineOf("\nsensors:", "coolant:")))));
}

// 101 kPa too little: an absolute sensor read as one against the air around.
TEST(Told, AnotherZeroOfAPressureIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "[[0.5, 20], [4.5, 400]]", "[[0.5, -81.3], [4.5, 298.7]]");
  ExpectOne(bench, bench.LineOf("\nsensors:", "  manifold:"), "'manifold_pressure'");
}

// 671.646 Hz at 100 km/h (48 teeth): a table for 44 teeth shows 9 % too much.
TEST(Told, PulsesOfAnotherRingAreNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "[[0, 0], [2014.938, 300]]", "[[0, 0], [1847, 300]]");
  ExpectOne(bench, bench.LineOf("\nsensors:", "  wheel_speed:"), "the table of 'road_speed'");
}

// The earlier of the two published scales ends at 95 degC, not 125.
TEST(Told, ThePulseWidthOfTheOtherFuelSensorIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kController, "[[1, -40], [5, 125]]", "[[1, -40], [5, 95]]");
  ExpectOne(bench, bench.LineOf("\nsensors:", "  fuel:"),
            "the table of 'fuel_temperature' says 95 °C at 5 ms low");
}

TEST(Told, ALimitWithinTheSensorsSpanIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit("terminal: ECU.25\n      value_at_volts", "high_v: 4.75 V", "high_v: 4.4 V");
  ExpectOne(bench, bench.LineOf("\nsensors:", "  throttle:"), "above 4.4 V the signal is too high");
}

TEST(Told, ALayoutOfTheDisplaysOwnIsComparedWithTheMessage) {
  EditedBench bench("boat_v8");
  bench.Edit("\ndisplay:", "display:",
             "display:\n  layouts: {heat: {id: 0x202, sender: controller, period_ms: 200 ms, "
             "signals: {coolant: {start_bit: 0, length_bits: 16, scale: 0.1, unit: degC}}}}");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(proof.problems[0].what,
              AllOf(HasSubstr("'heat.coolant': unsigned for signed"),
                    HasSubstr(bench.At(bench.LineOf("heat:", "coolant:")))));
}

// What a layout says besides its bits: no value, which of several layouts, how long.
TEST(Told, WhatElseALayoutSaysIsComparedWithTheMessage) {
  for (const auto& [signal, length, what] :
       {std::tuple("not_available: 255", 8, "not_available 255 for none"),
        std::tuple("multiplex_value: 2", 8, "multiplex 2 for none"),
        std::tuple("", 7, "has 7 bytes; it is sent with 8 bytes")}) {
    EditedBench bench("boat_v8");
    const std::string selector =
        std::string(signal).starts_with("multiplex")
            ? ", bank: {start_bit: 40, length_bits: 4, multiplex: selector}"
            : "";
    bench.Edit(
        "\ndisplay:", "display:",
        fmt::format("display:\n  layouts: {{heat: {{id: 0x202, sender: controller, period_ms: "
                    "200 ms, length_bytes: {}, signals: {{coolant: {{start_bit: 0, "
                    "length_bits: 16, is_signed: true, scale: 0.1, unit: degC, {}}}{}}}}}}}",
                    length, signal, selector));
    const Proof proof = bench.Read();
    ASSERT_FALSE(proof.problems.empty()) << signal;
    EXPECT_THAT(proof.problems[0].what, HasSubstr(what));
  }
}

// ---- what cannot be compared is said ----------------------------------------------------------

TEST(Told, WhatTheFileDoesNotSayIsListed) {
  EditedBench bench("hill_climb");
  bench.Edit("\nengine:", "  advance_deg: 12", "  # advance_deg: 12");
  bench.Edit(kDecoder, "    firing_order: [1, 3, 4, 2]\n", "");
  bench.Edit("  - {circuit: oil_pressure_signal", "  - {", "  # - {");
  const Proof proof = bench.Read();
  EXPECT_THAT(proof.problems, IsEmpty());
  std::string open;
  for (const Diagnostic& d : proof.not_compared) open += Format(d) + "\n";
  EXPECT_THAT(open, HasSubstr("what the engine was designed for is not written"));
  EXPECT_THAT(open, HasSubstr("the controller's is not written, so the engine's is taken"));
  EXPECT_THAT(open, HasSubstr("the table of 'oil_pressure': no sensor is wired to ECU.24"));
  EXPECT_EQ(proof.not_compared.size(), 4u) << open;  // and the sensor itself
}

}  // namespace
}  // namespace drycrank::proofread
