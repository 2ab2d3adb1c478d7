// SPDX-License-Identifier: Apache-2.0
//
// The hovercraft bench with outputs that cannot be right: a coil or injector of a rotor that is not
// there, of none, of one that has its own already, or left out. The twins: the shipped bench, and
// two injectors to each rotor.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "tests/proofread/edited_bench.h"

namespace drycrank::proofread {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

void ExpectOne(const EditedBench& bench, const std::string& said) {
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u) << said;
  EXPECT_THAT(Format(proof.problems[0]),
              AllOf(StartsWith(bench.At(bench.line())), HasSubstr(said)));
}

TEST(ToldOutputs, AsShippedAllIsInOrder) {
  EXPECT_THAT(EditedBench("hovercraft").Read().problems, IsEmpty());
}

TEST(ToldOutputs, ACylinderTheEngineHasNotIsRefused) {
  for (const char* name : {"leading_2:", "trailing_2:", "injector_2:"}) {
    EditedBench bench("hovercraft");
    bench.Edit("\n    " + std::string(name) + " {label", "cylinder: 2", "cylinder: 3");
    ExpectOne(bench, "cylinder 3 of an engine of 2; write 1 to 2");
  }
}

TEST(ToldOutputs, OneOfNoCylinderAmongOthersIsNamed) {
  EditedBench bench("hovercraft");
  bench.Edit("\n    trailing_2: {label", "cylinder: 2, ", "");
  ExpectOne(bench, "output 'trailing_2' is a trailing coil of no cylinder");
}

TEST(ToldOutputs, TwoOfOneCylinderAndNoneOfAnotherAreNamed) {
  EditedBench trailing("hovercraft");
  trailing.Edit("\n    trailing_2: {label", "cylinder: 2", "cylinder: 1");
  ExpectOne(trailing,
            "outputs 'trailing_1' and 'trailing_2' are both the trailing coil of cylinder 1, and "
            "cylinder 2 has none");
  EditedBench leading("hovercraft");
  leading.Edit("\n    leading_2: {label", "cylinder: 2", "cylinder: 1");
  ExpectOne(leading, "'leading_1' and 'leading_2' are both the coil of cylinder 1");
  EditedBench injector("hovercraft");
  injector.Edit("\n    injector_2: {label", "cylinder: 2", "cylinder: 1");
  ExpectOne(injector, "'injector_1' and 'injector_2' are both the injector of cylinder 1");
}

// Two of one kind at every cylinder may be: two injectors that open together.
TEST(ToldOutputs, TwoInjectorsOfEachCylinderAreInOrder) {
  EditedBench bench("hovercraft");
  bench.Edit("\n    leading_1: {label", "kind: ignition", "kind: injector");
  bench.Edit("\n    leading_2: {label", "kind: ignition", "kind: injector");
  EXPECT_THAT(bench.Read().problems, IsEmpty());
}

TEST(ToldOutputs, ACoilLeftOutIsNamed) {
  EditedBench bench("hovercraft");
  bench.Edit("\n    trailing_2: {label", "kind: trailing_ignition, cylinder: 2", "kind: low_side");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(Format(proof.problems[0]),
              AllOf(StartsWith(bench.At(bench.line() - 1)),
                    HasSubstr("'trailing_1' is the trailing coil of cylinder 1, and no output is "
                              "that of cylinder 2: nothing fires there")));
}

TEST(ToldOutputs, NoTrailingCoilWhereTheControllerIsToldOfThemIsNamed) {
  EditedBench bench("hovercraft");
  for (const char* name : {"\n    trailing_1: {label", "\n    trailing_2: {label"}) {
    bench.Edit(name, "kind: trailing_ignition", "kind: low_side");
  }
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 1u);
  EXPECT_THAT(Format(proof.problems[0]),
              HasSubstr("the controller is told of trailing coils, and no output is one"));
}

// ---- the engine -------------------------------------------------------------------------------

// Each rotor has one of each, and yet the trailing plug would fire first.
TEST(ToldOutputs, KindsOfLeadingAndTrailingExchangedAreNamed) {
  EditedBench bench("hovercraft");
  for (const char* rotor : {"1", "2"}) {
    bench.Edit(std::string("\n    leading_") + rotor + ": {label", "kind: ignition",
               "kind: trailing_ignition");
    bench.Edit(std::string("\n    trailing_") + rotor + ": {label", "kind: trailing_ignition",
               "kind: ignition");
  }
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 4u);
  EXPECT_THAT(Format(proof.problems[0]),
              HasSubstr("output 'trailing_1' is by its names the trailing coil of cylinder 1, and "
                        "the controller is told that it is the leading one; write kind: "
                        "trailing_ignition"));
  EXPECT_THAT(Format(proof.problems[2]),
              HasSubstr("'leading_1' is by its names the leading coil of cylinder 1"));
}

// Names that say neither accuse nobody.
TEST(ToldOutputs, CoilsWithoutSuchNamesAreNotJudged) {
  EditedBench bench("hovercraft");
  bench.Edit("\n    leading_1: {label", "Leading coil of rotor 1", "Coil A");
  EXPECT_THAT(bench.Read().problems, IsEmpty());
}

// Told 7 behind top dead centre where 5 before is meant, and 12 before that: 5 before, where the
// trailing spark is meant 7 behind. 12 too early, as the leading one is 12 too late.
TEST(ToldOutputs, LeadingAndTrailingExchangedAreEachTwelveDegreesOff) {
  EditedBench bench("hovercraft");
  bench.Edit("\n  decoder:", "advance_deg: 5, trailing_deg: 12",
             "advance_deg: -7, trailing_deg: -12");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 2u);
  EXPECT_THAT(proof.problems[0].what, HasSubstr("each leading spark comes 12 deg too late"));
  EXPECT_THAT(proof.problems[1].what, HasSubstr("each trailing spark comes 12 deg too early"));
}

// Told 3 less before, and 3 less behind that: the trailing spark stays where it is meant.
TEST(ToldOutputs, ATrailingSparkThatStaysInItsPlaceIsNotSaidToBeWrong) {
  EditedBench bench("hovercraft");
  bench.Edit("\n  decoder:", "advance_deg: 5, trailing_deg: 12", "advance_deg: 2, trailing_deg: 9");
  const Proof proof = bench.Read();
  ASSERT_EQ(proof.problems.size(), 2u);
  EXPECT_THAT(proof.problems[1].what,
              HasSubstr("the trailing sparks themselves come where they are meant"));
}

TEST(ToldOutputs, OfAMisspeltRotaryOnlyTheTypoIsSaid) {
  EditedBench bench("hovercraft");
  bench.Edit("\nengine:", "kind: rotary", "kind: rotery");
  ExpectOne(bench, "'rotery' is not a value of 'kind'; did you mean 'rotary'?");
}

}  // namespace
}  // namespace drycrank::proofread
