// SPDX-License-Identifier: Apache-2.0
//
// Which circuits of the shipped hill-climb bench (invented) a sound card sends something along. What is
// expected is read from the wires of the file: CKP.1 to ECU.10, CKP.2 to ECU.11, CMP.3 to ECU.12.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <set>
#include <sstream>

#include "profile/load.h"
#include "study/circuits_shown.h"
#include "tests/support/scratch_folder.h"
#include "walk/reach.h"

namespace drycrank::study {
namespace {

using testing::IsEmpty;
using testing::UnorderedElementsAre;

class DrivenCircuitsTest : public testing::Test {
 protected:
  DrivenCircuitsTest() {
    std::ifstream file(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
    std::stringstream text;
    text << file.rdbuf();
    text_ = text.str();
    Change("../parts/", DRYCRANK_PROFILES_DIR "/parts/");
  }
  void Change(const std::string& from, const std::string& to) {
    ASSERT_NE(text_.find(from), std::string::npos) << from;
    for (std::size_t at = 0; (at = text_.find(from, at)) != std::string::npos; at += to.size()) {
      text_.replace(at, from.size(), to);
    }
  }
  std::set<std::string> Driven() const { return walk::ReachOfReal(*loaded_.bench, true).circuits; }
  std::set<std::string> Driven(const std::string& channels) {
    std::ofstream(folder_.path() / "bench.yaml")
        << text_ << "drives:\n  card: {kind: sound, device: \"hw:0\", channels: {" << channels
        << "}}\n";
    loaded_ = profile::LoadBench((folder_.path() / "bench.yaml").string());
    for (const Diagnostic& problem : loaded_.problems) ADD_FAILURE() << Format(problem);
    return Driven();
  }

  const ScratchFolder folder_;
  std::string text_;
  profile::LoadedBench loaded_;
};

constexpr const char* kCrank = "crank: {output: 1, full_scale_v: 5, corner_hz: 0}";
constexpr const char* kCam = "cam_intake: {output: 2, full_scale_v: 2, corner_hz: 0}";

TEST_F(DrivenCircuitsTest, ThoseOfItsPickupsSignals) {
  EXPECT_THAT(Driven(std::string(kCrank) + ", " + kCam),
              UnorderedElementsAre("crank_plus", "crank_minus", "cam_signal"));
}

TEST_F(DrivenCircuitsTest, OfOnePickupAlone) {
  EXPECT_THAT(Driven(kCam), UnorderedElementsAre("cam_signal"));
}

TEST_F(DrivenCircuitsTest, NotAGroundThatOtherSensorsShare) {
  Change("{circuit: crank_minus, ", "{circuit: sensor_ground, ");
  EXPECT_THAT(Driven(kCrank), UnorderedElementsAre("crank_plus"));
}

// What is met proves those and no other; with nothing driven, none.
TEST_F(DrivenCircuitsTest, OfARealControllerTheyAloneAreExplainedOtherwise) {
  (void)Driven(kCam);
  const profile::Scenario nothing;
  const std::vector<check::Verdict> verdicts;
  const std::vector<report::StepTime> steps;
  for (const bool driven : {false, true}) {
    Judged judged{*loaded_.bench, nothing, verdicts, steps, true};
    if (driven) judged.driven = Driven();
    std::vector<std::string> not_called_undriven;
    for (const auto& circuit : EvidenceOf(judged)) {
      EXPECT_EQ(circuit.state, check::CircuitState::kNotShown) << circuit.circuit;
      if (circuit.gap != check::Gap::kNotDriven) not_called_undriven.push_back(circuit.circuit);
    }
    if (driven) {
      EXPECT_THAT(not_called_undriven, UnorderedElementsAre("cam_signal"));
    } else {
      EXPECT_THAT(not_called_undriven, IsEmpty());
    }
  }
}

}  // namespace
}  // namespace drycrank::study
