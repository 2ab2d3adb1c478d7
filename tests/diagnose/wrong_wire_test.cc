// SPDX-License-Identifier: Apache-2.0
//
// A fault that is not on the list must not be taken for one that is: on a bench with two single-ended
// coils, a leak between their wires was called a swap of the crank's two leads, since "what comes and
// goes" fitted whatever was seen.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>
#include <string>

#include "diagnose/rank.h"
#include "tests/diagnose/walked.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::diagnose {
namespace {

class WrongWire : public testing::Test {
 protected:
  static void Change(std::string& text, const std::string& from, const std::string& to) {
    const auto at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    text.replace(at, from.size(), to);
  }

  // The hill-climb car with a coil at the cam too, both coils with one end at the sensor ground.
  static std::string TwoCoils(const ScratchFolder& folder) {
    std::ifstream shipped(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
    std::stringstream read;
    read << shipped.rdbuf();
    std::string text = read.str();
    Change(text, "pickup: {kind: hall, supply: CMP.1, ground: CMP.2, signal: CMP.3}",
           "pickup: {kind: variable_reluctance, plus: CMP.3, minus: CMP.2, coil_ohm: 900 ohm,"
           " peak_v: 1 V, peak_at_rpm: 200 rpm}");
    Change(text, "sensor_grounds: [ECU.3]", "sensor_grounds: [ECU.3, ECU.11]");
    Change(text, "{terminal: ECU.10, minus: ECU.11, input_ohm: 20 kohm}",
           "{terminal: ECU.10, input_ohm: 20 kohm}");
    Change(text, "{terminal: ECU.12, pull_up_ohm: 2.2 kohm}",
           "{terminal: ECU.12, input_ohm: 20 kohm}");
    Change(text,
           "conditioning: threshold\n      high_v: 3.0 V\n      low_v: 1.5 V\n      edge: falling\n"
           "      point: begin",
           "conditioning: zero_crossing\n      arm_v: 0.25 V\n      edge: falling\n"
           "      point: centre");
    for (auto at = text.find("../parts"); at != std::string::npos; at = text.find("../parts")) {
      text.replace(at, 2, DRYCRANK_PROFILES_DIR);
    }
    const std::string file = folder.Path("two_coils.yaml");
    std::ofstream(file) << text;
    return file;
  }

  static profile::Fault Between(const profile::FaultKind& kind, const std::string& at,
                                const std::string& with) {
    profile::Fault fault;
    fault.kind = kind;
    fault.name = "fault";
    fault.at = at;
    fault.with = with;
    return fault;
  }

  // The wires of CKP.1 and CMP.3 end at ECU.10 and ECU.12.
  static bool IsBetweenTheTwoWires(const Hypothesis& hypothesis) {
    const profile::Fault& fault = hypothesis.faults[0];
    const auto is_on = [&](const std::string& place) { return place == fault.at || place == fault.with; };
    return (fault.Is<profile::fault::Leakage>() || fault.Is<profile::fault::ShortTogether>()) &&
           (is_on("CKP.1") || is_on("ECU.10")) && (is_on("CMP.3") || is_on("ECU.12"));
  }

  ScratchFolder folder_;
  Walked walked_{WalkedFile{TwoCoils(folder_)}};
};

TEST_F(WrongWire, ALeakBetweenTwoCoilsIsNotCalledASwapOfLeads) {
  const profile::Fault leak = Between(profile::fault::Leakage{.ohm = 2000}, "CKP.1", "CMP.3");
  const Observation observed = walked_.Observe({leak}, 0);
  Predictor predictor(walked_.bench(), walked_.situations());
  Ranker ranker(walked_.bench(), predictor);
  const Diagnosis diagnosis = ranker.Rank(observed, {.doubles = false});
  ASSERT_FALSE(diagnosis.healthy);
  const Hypothesis& first = diagnosis.groups[0].members[0].hypothesis;
  EXPECT_TRUE(!diagnosis.explained || IsBetweenTheTwoWires(first))
      << Describe(walked_.bench(), first);
}

// The twin: that swap, really run, is among those that explain what it gives.
TEST_F(WrongWire, TheSwapItselfIsAmongThoseThatExplain) {
  const profile::Fault swap = Between(profile::fault::TerminalsSwapped{}, "CKP.1", "CKP.2");
  const Observation observed = walked_.Observe({swap}, 0);
  Predictor predictor(walked_.bench(), walked_.situations());
  Ranker ranker(walked_.bench(), predictor);
  const Diagnosis diagnosis = ranker.Rank(observed, {.doubles = false});
  ASSERT_FALSE(diagnosis.healthy);
  EXPECT_TRUE(diagnosis.explained);
  Hypothesis truth;
  truth.faults = {swap};
  const auto group = std::find_if(diagnosis.groups.begin(), diagnosis.groups.end(),
                                  [&](const Group& candidate) { return Holds(candidate, truth); });
  ASSERT_NE(group, diagnosis.groups.end());
  EXPECT_EQ(group->members[0].surprises, 0);
}

}  // namespace
}  // namespace drycrank::diagnose
