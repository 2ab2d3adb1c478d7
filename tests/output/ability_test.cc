// SPDX-License-Identifier: Apache-2.0
//
// What an output cannot give is said before anything moves: where, what, and who could.
#include "output/ability.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "output/memory_output.h"

namespace drycrank::output {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

constexpr Ability kPins[] = {{.form = Form::kWheel,
                              .most = 20'000,
                              .most_slope = 50'000,
                              .traits = {Trait::kRamp, Trait::kSilent},
                              .most_teeth = 128},
                             {.form = Form::kSwitch, .most = 1, .rate_hz = 100}};
constexpr Ability kCard[] = {{.form = Form::kEmf,
                              .least = -1.4,
                              .most = 1.4,
                              .traits = {Trait::kRamp, Trait::kRipple, Trait::kStrength}}};
constexpr KindAbility kAll[] = {{"pins", kPins}, {"card", kCard}};

Wish Coil() {
  return {.of = "trigger 'crank'",
          .place = {"bench.yaml", 7, 3},
          .forms = {{.form = Form::kWheel, .most = 6000}, {.form = Form::kEmf, .least = -1, .most = 1}},
          .teeth = 60};
}

std::string Said(const KindAbility& kind, const Wish& wish) {
  std::string said;
  for (const Diagnostic& problem : WhyNot(kind, wish, kAll)) said += Format(problem) + "\n";
  return said;
}

TEST(Ability, WhatItGivesIsNoProblem) {
  EXPECT_EQ(Said(kAll[0], Coil()), "");
  EXPECT_EQ(Said(kAll[1], Coil()), "");
}

TEST(Ability, ATraitIsRefusedWhereItIsWrittenAndOneIsNamedThatCould) {
  Wish wish = Coil();
  wish.needs = {{Trait::kRamp, {"run.yaml", 4, 1}}, {Trait::kRipple, {"run.yaml", 9, 5}}};
  EXPECT_EQ(Said(kAll[0], wish),
            "run.yaml:9:5: trigger 'crank': an output of kind pins does not give compression ripple; "
            "an output of kind card could\n");
  EXPECT_EQ(Said(kAll[1], wish), "");
}

TEST(Ability, WhatNobodyGivesIsSaidSo) {
  Wish wish = Coil();
  wish.needs = {{Trait::kNoise, {"run.yaml", 9, 5}}};
  EXPECT_THAT(Said(kAll[0], wish), HasSubstr("no kind of output gives all of it"));
}

TEST(Ability, AFormThatItDoesNotHave) {
  const Wish ohm{.of = "sensor 'coolant'",
                 .place = {"bench.yaml", 8, 3},
                 .forms = {{.form = Form::kResistance, .least = 50, .most = 50'000}}};
  EXPECT_THAT(Said(kAll[0], ohm), HasSubstr("does not give a resistance (it gives edges of a wheel, a switching output); take "
                                           "sensor 'coolant' out of 'drives'"));
}

TEST(Ability, RangesRatesAndTeethAreLimits) {
  Wish wish = Coil();
  wish.teeth = 129;
  EXPECT_THAT(Said(kAll[0], wish), HasSubstr("129 teeth (it has 128); an output of kind card could"));
  wish = Coil();
  wish.forms[0].most = 20'001;
  EXPECT_THAT(Said(kAll[0], wish), HasSubstr("0 to 20001 r/min (it gives 0 to 20000 r/min)"));
  wish = Coil();
  wish.forms[0].slope = 50'001;
  EXPECT_THAT(Said(kAll[0], wish), HasSubstr("50001 r/min in a second (it makes 50000)"));
  wish = Coil();
  wish.forms[1].least = -1.5;
  EXPECT_THAT(Said(kAll[1], wish), HasSubstr("-1.5 to 1 V (it gives -1.4 to 1.4 V)"));
  Wish relay{.of = "sensor 'clutch'", .place = {}, .forms = {{Form::kSwitch, 0, 1, 100}}};
  EXPECT_EQ(Said(kAll[0], relay), "");
  relay.forms[0].rate_hz = 101;
  EXPECT_THAT(Said(kAll[0], relay), HasSubstr("101 changes a second (it makes 100)"));
}

TEST(Ability, EachProblemIsSaidNotTheFirstAlone) {
  Wish wish = Coil();
  wish.teeth = 200;
  wish.needs = {{Trait::kSine, {}}, {Trait::kRunout, {}}};
  EXPECT_THAT(WhyNot(kAll[0], wish, kAll), SizeIs(3));
}

TEST(MemoryOutput, TakesNothingBeforeItIsArmedAndNothingAfter) {
  MemoryOutput output({kPins[0]}, 2);
  const Given speed{.t_ns = 5, .channel = 0, .state = Source{.value = 1}};
  EXPECT_THAT(output.Arm(), HasSubstr("not open"));
  EXPECT_EQ(output.Open(), "");
  output.Give(speed);
  EXPECT_THAT(output.given(), IsEmpty());
  EXPECT_EQ(output.Arm(), "");
  output.Give(speed);
  ASSERT_THAT(output.given(), SizeIs(1));
  EXPECT_EQ(output.given()[0].t_ns, 5);
  output.Disarm();
  output.Give(speed);
  EXPECT_THAT(output.given(), SizeIs(1));
}

TEST(MemoryOutput, FullIsAFailureAndSafe) {
  MemoryOutput output({kPins[0]}, 1);
  EXPECT_EQ(output.Open(), "");
  EXPECT_EQ(output.Arm(), "");
  output.Give({});
  EXPECT_EQ(output.failure(), "");
  output.Give({});
  EXPECT_THAT(output.failure(), HasSubstr("full"));
  EXPECT_FALSE(output.armed());
}

}  // namespace
}  // namespace drycrank::output
