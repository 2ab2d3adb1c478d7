// SPDX-License-Identifier: Apache-2.0
#include "proofread/proofread.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "tests/support/scratch_folder.h"

namespace drycrank::proofread {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

const std::string kProfiles = DRYCRANK_PROFILES_DIR;

TEST(Proofread, AShippedBenchHasNoProblemsAndTheTimingOfItsBuses) {
  const Proof proof = ProofreadFile(kProfiles + "/benches/kart.yaml");
  EXPECT_THAT(proof.problems, IsEmpty());
  ASSERT_TRUE(proof.bench);
  EXPECT_EQ(proof.timing.size(), proof.bench->buses.size());
}

TEST(Proofread, AShippedScenarioHasNoProblems) {
  const Proof proof = ProofreadFile(kProfiles + "/scenarios/hill_climb/replayed.yaml");
  EXPECT_THAT(proof.problems, IsEmpty());
  EXPECT_FALSE(proof.bench);
}

// The twin: the same scenario with a file that is no recording.
TEST(Proofread, AScenarioIsHeldAgainstItsRecordings) {
  const ScratchFolder folder;
  std::ofstream(folder.Path("drive.log")) << "kind: bench\n";
  const std::string healthy = kProfiles + "/scenarios/hill_climb/healthy.yaml";
  std::ofstream(folder.Path("s.yaml"))
      << "kind: scenario\ninclude: " << healthy << "\nbench: " << kProfiles
      << "/benches/hill_climb.yaml\nreplay: [{file: drive.log}]\n";
  const Proof proof = ProofreadFile(folder.Path("s.yaml"));
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(Format(proof.problems[0]), HasSubstr("s.yaml:4:"));
}

// The twin: the hill-climb bench with a bus that is too slow for its messages.
TEST(Proofread, ABenchIsHeldAgainstItsBuses) {
  const ScratchFolder folder;
  std::ofstream(folder.Path("b.yaml"))
      << "kind: bench\ninclude: " << kProfiles << "/benches/hill_climb.yaml\n"
      << "buses: {vehicle: {include: " << kProfiles
      << "/parts/buses/hill_climb_vehicle.yaml, bitrate_bps: 10000}}\n";
  const Proof proof = ProofreadFile(folder.Path("b.yaml"));
  ASSERT_FALSE(proof.problems.empty());
  EXPECT_THAT(proof.problems[0].what, HasSubstr("bus 'vehicle' is more than full"));
}

TEST(Proofread, AFileThatDoesNotLoadIsComparedNoFurther) {
  const ScratchFolder folder;
  std::ofstream(folder.Path("b.yaml")) << "kind: bench\nnmae: x\n";
  const Proof proof = ProofreadFile(folder.Path("b.yaml"));
  EXPECT_FALSE(proof.problems.empty());
  EXPECT_FALSE(proof.bench);
  EXPECT_THAT(proof.timing, IsEmpty());
}

}  // namespace
}  // namespace drycrank::proofread
