// SPDX-License-Identifier: Apache-2.0
//
// A fault must be named in words that a fitter understands: some failing expectation's own sentence
// has the part, plug, pin or setting to look at. Words by hand from the scenario's fault and the
// bench's wiring, not from the sentences.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "profile/load.h"
#include "report/common_point.h"
#include "study/play.h"
#include "tests/support/scratch_folder.h"
#include "types/clock.h"

namespace drycrank {
namespace {

using Words = std::vector<std::string>;
using testing::IsEmpty;

template <class Read>
auto OfRun(const std::string& path, Read read) -> decltype(read(report::Report())) {
  const profile::LoadedScenario loaded = profile::LoadScenario(path);
  for (const Diagnostic& problem : loaded.problems) ADD_FAILURE() << Format(problem);
  if (!loaded.scenario) return {};
  VirtualClock clock;
  study::PlayOptions options;
  options.run.seed = loaded.scenario->seed;
  options.clock = &clock;
  options.pictures = false;
  return read(study::Play(*loaded.bench, *loaded.scenario, options).report);
}

// What a failure's paragraph in the terminal's report says, on one line: from its number to the
// next blank line. What is met has none.
std::vector<std::string> Sentences(const std::string& path) {
  std::istringstream text(OfRun(
      path, [](const report::Report& report) { return report::Terminal(report, false, 100); }));
  std::vector<std::string> sentences;
  bool inside = false;
  for (std::string line; std::getline(text, line);) {
    const std::string head = fmt::format("{:>2}. ", sentences.size() + 1);
    if (line.starts_with(head)) sentences.emplace_back();
    inside = line.starts_with(head) || (inside && !line.empty());
    if (inside) sentences.back() += line.substr(std::min<std::size_t>(3, line.size()));
  }
  return sentences;
}

bool Names(const std::vector<std::string>& sentences, const Words& words) {
  return std::any_of(sentences.begin(), sentences.end(), [&](const std::string& sentence) {
    return std::all_of(words.begin(), words.end(), [&](const std::string& word) {
      return sentence.find(word) != std::string::npos;
    });
  });
}

std::string Shipped(const std::string& name) {
  return DRYCRANK_PROFILES_DIR "/scenarios/" + name + ".yaml";
}

// The healthy scenario of a bench with one fault that no shipped scenario has.
void WriteWithFault(const std::string& bench, const std::string& fault, const std::string& path) {
  std::ofstream(path) << "kind: scenario\ninclude: " << Shipped(bench + "/healthy")
                      << "\nname: s\nfaults:\n  - " << fault << '\n';
}

std::vector<std::string> WithFault(const std::string& bench, const std::string& fault) {
  const ScratchFolder folder;
  WriteWithFault(bench, fault, folder.Path("s.yaml"));
  return Sentences(folder.Path("s.yaml"));
}

// The splice that the report puts before its failures; empty: none.
std::string CommonPoint(const std::string& bench, const std::string& fault) {
  const ScratchFolder folder;
  WriteWithFault(bench, fault, folder.Path("s.yaml"));
  return OfRun(folder.Path("s.yaml"), [](const report::Report& report) {
    const auto point = report::CommonPointOf(report);
    return point ? point->splice : std::string();
  });
}

const Words kCamPlug = {"cam sensor", "CMP"};
const Words kCamSwapped = {"CMP", "ground on pin 2", "signal on pin 3", "swapped"};
const Words kTiming = {"cam", "timing", "one tooth"};
const Words kAirFitted = {"air temperature", "IAT", "sensor fitted"};
const Words kSensorGround = {"sensor ground", "ECU pin 3", "S_GND"};
const Words kDisplayOrder = {"display's settings", "byte order"};

TEST(NamedParts, CamLeadsSwapped) {
  EXPECT_TRUE(Names(Sentences(Shipped("hill_climb/cam_leads_swapped")), kCamSwapped));
}

TEST(NamedParts, CamOneToothLate) {
  const auto sentences = Sentences(Shipped("hill_climb/cam_one_tooth_late"));
  EXPECT_TRUE(Names(sentences, kTiming));
  EXPECT_FALSE(Names(sentences, kCamSwapped));
}

TEST(NamedParts, CamMissing) {
  const auto sentences = Sentences(Shipped("hill_climb/cam_missing"));
  EXPECT_TRUE(Names(sentences, {"no cam signal", "cam sensor fitted", "CMP"}));
  EXPECT_FALSE(Names(sentences, kSensorGround));
}

TEST(NamedParts, AirTemperatureSensorNotFitted) {
  const auto sentences = Sentences(Shipped("hill_climb/air_sensor_not_fitted"));
  EXPECT_TRUE(Names(sentences, kAirFitted));
  EXPECT_FALSE(Names(sentences, kSensorGround));
  EXPECT_FALSE(Names(sentences, kCamPlug));
}

TEST(NamedParts, SharedSensorGroundOpen) {
  EXPECT_TRUE(Names(Sentences(Shipped("hill_climb/sensor_ground_open")), kSensorGround));
  // On the others: pins and splices by hand from their wires.
  EXPECT_TRUE(Names(WithFault("generator", "{name: f, kind: open, at: J1.3}"),
                    {"sensor ground", "J1 pin 3", "splice GND"}));
  EXPECT_TRUE(Names(WithFault("boat_v8", "{name: f, kind: open, at: EC.3}"),
                    {"sensor ground", "EC pin 3", "splice SG"}));
}

// The other wire that several sensors share: not called the ground.
TEST(NamedParts, SharedSupplyOpenIsNotCalledTheSensorGround) {
  const auto sentences = WithFault("hill_climb", "{name: f, kind: open, at: ECU.4}");
  EXPECT_TRUE(Names(sentences, {"5 V on pin 1", "MAP"}));
  EXPECT_FALSE(Names(sentences, kSensorGround));
  EXPECT_FALSE(Names(WithFault("generator", "{name: f, kind: open, at: J1.4}"), {"sensor ground"}));
}

// Splices by hand from the benches' wires.
TEST(NamedParts, TheWireThatSensorsShareIsNamedFirst) {
  EXPECT_EQ(CommonPoint("hill_climb", "{name: f, kind: open, at: ECU.3}"), "S_GND");
  EXPECT_EQ(CommonPoint("hill_climb", "{name: f, kind: open, at: ECU.4}"), "S_5V");
  EXPECT_EQ(CommonPoint("generator", "{name: f, kind: open, at: J1.3}"), "GND");
  EXPECT_EQ(CommonPoint("generator", "{name: f, kind: open, at: J1.4}"), "REF");
  EXPECT_EQ(CommonPoint("hill_climb", "{name: f, kind: open, at: CLT.2}"), "");
  EXPECT_EQ(CommonPoint("hill_climb", "{name: f, kind: not_fitted, at: air}"), "");
}

TEST(NamedParts, DisplayWithWrongByteOrder) {
  const auto sentences = Sentences(Shipped("hill_climb/display_byte_order"));
  EXPECT_TRUE(Names(sentences, kDisplayOrder));
  EXPECT_FALSE(Names(sentences, {"MAP"}));  // the controller's side is well
}

TEST(NamedParts, NothingIsNamedOnAHealthyBench) {
  EXPECT_THAT(Sentences(Shipped("hill_climb/healthy")), IsEmpty());
}

}  // namespace
}  // namespace drycrank
