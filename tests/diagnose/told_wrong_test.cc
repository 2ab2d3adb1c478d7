// SPDX-License-Identifier: Apache-2.0
//
// What the controller was told wrong, found by what the bench then does. The stand-in is built from the
// bench's file with one place of its `controller:` changed; the diagnosis reads the file as shipped and
// knows nothing of the change. What should be named is the change itself.
#include "diagnose/told_suspects.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <memory>
#include <string>

#include "diagnose/repair.h"
#include "profile/told_controller.h"
#include "tests/diagnose/walked.h"
#include "tests/proofread/edited_bench.h"

namespace drycrank::diagnose {
namespace {

constexpr char kController[] = "\ncontroller:";
constexpr char kDecoder[] = "\n  decoder:";

// One walk through each shipped bench, for all tests of it.
Walked& WalkedThrough(const std::string& name) {
  static std::map<std::string, std::unique_ptr<Walked>> walked;
  auto& one = walked[name];
  if (!one) one = std::make_unique<Walked>(name);
  return *one;
}

struct Edit {
  const char *after, *from, *to;
};

class ToldWrong : public testing::Test {
 protected:
  // The first answer, in words; the whole of it in diagnosis_.
  std::string Diagnose(const std::string& name, const Edit& edit, std::uint64_t seed = 1) {
    proofread::EditedBench file(name);
    file.Edit(edit.after, edit.from, edit.to);
    const auto told = file.Read().bench;
    EXPECT_TRUE(told);
    return told ? DiagnoseOn(name, *told, seed) : "";
  }
  std::string DiagnoseOn(const std::string& name, const profile::Bench& told, std::uint64_t seed,
                         std::vector<profile::Fault> faults = {}) {
    Walked& walked = WalkedThrough(name);
    const Observation observed = walked.ObserveOn(told, std::move(faults), seed);
    const FiredSeen fired = walked.fired();
    Predictor predictor(walked.bench(), walked.situations());
    Ranker ranker(walked.bench(), predictor);
    diagnosis_ = ranker.Rank(observed, {.doubles = true, .fired = &fired});
    bench_ = &walked.bench();
    return diagnosis_.groups.empty() ? "" : Describe(*bench_, Best());
  }
  const Hypothesis& Best() const { return diagnosis_.groups[0].members[0].hypothesis; }

  // Named first, and whatever looks the same is mended at the same place.
  void ExpectNamed(const std::string& name, const Edit& edit, const std::string& said) {
    EXPECT_EQ(Diagnose(name, edit), said);
    ExpectOneRepair();
  }
  void ExpectOneRepair() const {
    ASSERT_FALSE(diagnosis_.groups.empty());
    EXPECT_FALSE(diagnosis_.healthy);
    EXPECT_TRUE(diagnosis_.explained) << diagnosis_.unknown_share;
    const Repairs repairs(*bench_);
    const std::string place = repairs.Of(Best()).key;
    for (const Candidate& member : diagnosis_.groups[0].members) {
      EXPECT_EQ(repairs.Of(member.hypothesis).key, place) << Describe(*bench_, member.hypothesis);
    }
  }

  const profile::Bench* bench_ = nullptr;
  Diagnosis diagnosis_;
};

// ---- the seven --------------------------------------------------------------------------------

TEST_F(ToldWrong, AnotherFiringOrderIsNamed) {
  ExpectNamed("hill_climb", {kDecoder, "[1, 3, 4, 2]", "[1, 2, 4, 3]"},
              "the controller seems to have been told firing order 1-2-4-3; tell it 1-3-4-2");
}

TEST_F(ToldWrong, AnotherAdvanceIsNamed) {
  ExpectNamed("hill_climb", {kDecoder, "advance_deg: 12", "advance_deg: 42"},
              "the controller seems to have been told 42° of ignition advance; tell it 12°");
}

TEST_F(ToldWrong, AnotherOffsetOfTheCrankIsNamed) {
  ExpectNamed("hill_climb", {kController, "offset_deg: 300", "offset_deg: 310"},
              "the controller seems to have been told an offset of 310° for crank; tell it 300°");
}

TEST_F(ToldWrong, AnotherWheelIsNamed) {
  ExpectNamed("hill_climb", {kController, "wheels/60-2.yaml", "wheels/36-1.yaml"},
              "the controller seems to have been told a wheel 36-1 for crank; tell it 60-2");
}

TEST_F(ToldWrong, TheOtherEdgeOfTheCamIsNamed) {
  ExpectNamed("hill_climb", {"conditioning: threshold", "edge: falling", "edge: rising"},
              "the controller seems to have been told the rising edge of cam_intake; tell it the "
              "falling edge");
}

TEST_F(ToldWrong, AnotherOffsetOfTheCamIsNamed) {
  ExpectNamed("hill_climb", {"conditioning: threshold", "offset_deg: 20", "offset_deg: 50"},
              "the controller seems to have been told an offset of 50° for cam_intake; tell it "
              "20°");
}

TEST_F(ToldWrong, TheTableOfAnotherPressureSensorIsNamed) {
  const std::string said =
      Diagnose("hill_climb", {kController, "[[0.5, 20], [4.5, 400]]", "[[0.5, 20], [4.5, 300]]"});
  EXPECT_EQ(said, "the controller's table of manifold_pressure seems to have been told 300 kPa at "
                  "4.5 V; tell it 400 kPa");
  ExpectOneRepair();
}

}  // namespace
}  // namespace drycrank::diagnose
