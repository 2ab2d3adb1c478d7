// SPDX-License-Identifier: Apache-2.0
#include "study/capture.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "tests/support/scratch_folder.h"
#include "types/diagnostic.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

// An invented four-cylinder, firing order 1 3 4 2, with its four injectors and a fan.
profile::Bench Bench() {
  profile::Bench bench;
  bench.engine.firing_order = {1, 3, 4, 2};
  bench.engine.firing_angles_deg = {0, 180, 360, 540};
  bench.controller.emplace();
  for (int cylinder = 1; cylinder <= 4; ++cylinder) {
    profile::ControllerOutput injector;
    injector.name = "injector_" + std::to_string(cylinder);
    injector.kind = profile::OutputKind::kInjector;
    injector.cylinder = cylinder;
    bench.controller->outputs.push_back(injector);
  }
  bench.controller->outputs.emplace_back().name = "fan";
  return bench;
}

Capture Read(const std::string& text) {
  const ScratchFolder folder;
  const std::string path = folder.Path("capture.csv");
  std::ofstream(path) << text;
  return ReadCapture(Bench(), path);
}

// One pulse of each in the given order, twice round.
std::string Pulses(const std::vector<int>& order) {
  std::string text = "time_s,injector_1,injector_2,injector_3,injector_4\n0,1,1,1,1\n";
  double t_s = 0;
  for (int round = 0; round < 2; ++round) {
    for (const int cylinder : order) {
      std::string levels;
      for (int c = 1; c <= 4; ++c) levels += c == cylinder ? ",0" : ",1";
      text += std::to_string(t_s += 0.01) + levels + "\n";
      text += std::to_string(t_s += 0.002) + ",1,1,1,1\n";
    }
  }
  return text;
}

TEST(Capture, PulsesInTheFiringOrderAct) {
  const Capture capture = Read(Pulses({1, 3, 4, 2}));
  ASSERT_THAT(capture.problems, IsEmpty());
  ASSERT_EQ(capture.seen.size(), 4u);
  for (const Seen& seen : capture.seen) {
    EXPECT_TRUE(seen.acts) << seen.detail;
    EXPECT_EQ(seen.detail, "2 pulses");
  }
}

// The wires of cylinders 3 and 4 swapped at the controller.
TEST(Capture, CrossedWiresDoNot) {
  const Capture capture = Read(Pulses({1, 4, 3, 2}));
  ASSERT_THAT(capture.problems, IsEmpty());
  EXPECT_TRUE(capture.seen[0].acts && capture.seen[1].acts);
  EXPECT_FALSE(capture.seen[2].acts || capture.seen[3].acts);
  EXPECT_EQ(capture.seen[2].detail,
            "2 pulses; the order is 1 4 3 2 1 4 3 2, the firing order 1 3 4 2; exchanged: cylinders "
            "3 and 4");
}

// 4 3 1 2 is in order with 1 and 4 exchanged, and with 3 and 2: nobody can say which.
TEST(Capture, WhatTwoExchangesExplainAccusesBoth) {
  const Capture capture = Read(Pulses({4, 3, 1, 2}));
  for (const Seen& seen : capture.seen) EXPECT_FALSE(seen.acts);
  EXPECT_THAT(capture.seen[0].detail, HasSubstr("exchanged: cylinders 1 and 4, or 3 and 2"));
}

// Of an engine that fires 1, 8 at 90 degrees and has injectors at these two alone: 90 behind or
// 630.
std::string TwoOf(double behind_deg) {
  std::string text = "time_s,injector_1,injector_2\n0,1,1\n";
  for (int cycle = 0; cycle < 4; ++cycle) {
    const double begin_s = 0.01 + 0.072 * cycle;  // 0.1 ms a degree
    std::vector<std::pair<double, std::string>> falls = {
        {begin_s, "0,1"}, {begin_s + 1e-4 * behind_deg, "1,0"}};
    for (const auto& [t_s, levels] : falls) {
      text += std::to_string(t_s) + "," + levels + "\n";
      text += std::to_string(t_s + 0.002) + ",1,1\n";
    }
  }
  return text;
}

TEST(Capture, TwoAtUnequalDistancesAreToldApart) {
  const auto read = [](double behind_deg) {
    const ScratchFolder folder;
    const std::string path = folder.Path("capture.csv");
    std::ofstream(path) << TwoOf(behind_deg);
    profile::Bench bench = Bench();
    bench.engine.firing_angles_deg = {0, 180, 360, 90};  // 2 fires 90 degrees behind 1
    bench.engine.firing_order = {1, 3, 4, 2};
    return ReadCapture(bench, path);
  };
  for (const Seen& seen : read(90).seen) EXPECT_TRUE(seen.acts) << seen.detail;
  const Capture crossed = read(630);
  ASSERT_EQ(crossed.seen.size(), 2u);
  for (const Seen& seen : crossed.seen) {
    EXPECT_FALSE(seen.acts);
    EXPECT_THAT(seen.detail, HasSubstr("cylinder 2 comes 630° behind cylinder 1, should be 90°: "
                                       "they are exchanged"));
  }
}

// Stopped in the middle and started again: one place out of many is off.
TEST(Capture, AnEngineThatStartsAnewIsInOrder) {
  std::vector<int> order;
  for (int turn = 0; turn < 6; ++turn) order.insert(order.end(), {1, 3, 4, 2});
  order.insert(order.begin() + 10, {2});
  const Capture capture = Read(Pulses(order));
  for (const Seen& seen : capture.seen) EXPECT_TRUE(seen.acts) << seen.detail;
}

TEST(Capture, AStillWireDoesNotAct) {
  const Capture still = Read("time_s,fan,injector_1\n0,1,1\n1,1,1\n2,1,0\n");
  ASSERT_EQ(still.seen.size(), 2u);
  EXPECT_FALSE(still.seen[0].acts);
  EXPECT_FALSE(still.seen[1].acts) << "one pulse may be anything";
  EXPECT_TRUE(Read("time_s,fan\n0,1\n1,0\n").seen[0].acts);
}

TEST(Capture, WhatCannotBeReadIsToldWithItsLine) {
  const auto told = [](const std::string& text) {
    const Capture capture = Read(text);
    EXPECT_THAT(capture.seen, IsEmpty());
    return capture.problems.empty() ? "" : Format(capture.problems[0]);
  };
  EXPECT_THAT(told(""), HasSubstr("at byte 0: the file is empty"));
  EXPECT_THAT(told("time_s,fan\n"), HasSubstr("no two lines of numbers"));
  EXPECT_THAT(told("u,fan\n0,1\n0,1\n"), HasSubstr("no column of times"));
  EXPECT_THAT(told("time_s,fann\n0,1\n"), HasSubstr("no column is called as a trigger or output"));
  EXPECT_THAT(told("time_s,fan,fann\n0,1,1\n1,1,1\n"),
              HasSubstr("there is no output 'fann'; known: injector_1"));
  EXPECT_THAT(told("time_s,fan\n0,2\n1,1\n2,x\n"), HasSubstr(":4:1: at byte 19: 'x' is no number"));
  EXPECT_THAT(told("time_s,fan\n0,1\n0,1\n\n0,1,1\n"), HasSubstr(":5:1: at byte 20: 3 fields"));
  EXPECT_THAT(told("time_s,fan\n2,1\n1,1\n"),
              HasSubstr(":3:1: at byte 15: time goes back from 2 s to 1 s"));
  EXPECT_THAT(Format(ReadCapture(Bench(), "/nowhere.csv").problems.at(0)),
              HasSubstr("cannot be read"));
}

// Invented: two rotors, of which each fires once in a turn of 40 ms; the trailing coil 12 degrees
// behind.
profile::Bench Rotors() {
  profile::Bench bench;
  bench.engine.kind = profile::EngineKind::kRotary;
  bench.engine.strokes = 2;
  bench.engine.firing_order = {1, 2};
  bench.engine.firing_angles_deg = {0, 180};
  bench.engine.trailing_deg = 12;
  bench.controller.emplace();
  for (const char* name : {"leading_1", "leading_2", "trailing_1", "trailing_2"}) {
    profile::ControllerOutput& coil = bench.controller->outputs.emplace_back();
    coil.name = name;
    coil.kind =
        name[0] == 'l' ? profile::OutputKind::kIgnition : profile::OutputKind::kTrailingIgnition;
    coil.cylinder = coil.name.back() - '0';
  }
  return bench;
}

// Three turns; 12 degrees of 360 are 40 ms / 30 = 1.333 ms. Columns in the order of `names`.
Capture ReadRotors(const std::string& names) {
  std::string text = "time_s," + names + "\n0,1,1,1,1\n";
  const char* low[] = {"0,1,1,1", "1,1,0,1", "1,0,1,1", "1,1,1,0"};
  for (int i = 0; i < 12; ++i) {
    const double fall_s = 0.005 + 0.02 * (i / 2) + 0.04 / 30 * (i % 2);
    text += std::to_string(fall_s) + "," + low[i % 4] + "\n";
    text += std::to_string(fall_s + 0.001) + ",1,1,1,1\n";
  }
  const ScratchFolder folder;
  const std::string path = folder.Path("capture.csv");
  std::ofstream(path) << text;
  return ReadCapture(Rotors(), path);
}

TEST(Capture, TrailingCoilsBehindTheirLeadingOnesAct) {
  const Capture capture = ReadRotors("leading_1,leading_2,trailing_1,trailing_2");
  ASSERT_THAT(capture.problems, IsEmpty());
  ASSERT_EQ(capture.seen.size(), 4u);
  for (const Seen& seen : capture.seen) EXPECT_TRUE(seen.acts) << seen.detail;
}

TEST(Capture, ATrailingCoilExchangedWithItsLeadingOneDoesNot) {
  const Capture capture = ReadRotors("trailing_1,leading_2,leading_1,trailing_2");
  ASSERT_THAT(capture.problems, IsEmpty());
  ASSERT_EQ(capture.seen.size(), 4u);
  for (const Seen& seen : capture.seen) {
    const profile::ControllerOutput& output = Rotors().controller->outputs[AsSize(seen.output)];
    EXPECT_EQ(seen.acts, output.cylinder == 2) << output.name << seen.detail;
    if (output.cylinder == 2) continue;
    EXPECT_THAT(seen.detail, HasSubstr("of cylinder 1 the trailing plug fires 12.0° before the "
                                       "leading one, should be 12.0° behind"));
  }
}

}  // namespace
}  // namespace drycrank::study
