// SPDX-License-Identifier: Apache-2.0
//
// Limits of the hill-climb bench that no value passes, or that are passed for good: each is named once, at the protection.
// The bench's tables end at 0 and 1000 kPa and at 140 °C; 118 °C is far inside.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "tests/proofread/edited_bench.h"

namespace drycrank::proofread {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

constexpr char kOil[] = "\n  oil_pressure_low:", kCoolant[] = "\n  coolant_hot:";

// What is said of protections.
std::vector<std::string> SaidOf(const EditedBench& bench) {
  std::vector<std::string> said;
  for (const Diagnostic& problem : bench.Read().problems) {
    if (problem.what.starts_with("protection '")) said.push_back(Format(problem));
  }
  return said;
}
auto OnlyAt(const EditedBench& bench, const char* protection, const std::string& words) {
  return ElementsAre(
      AllOf(StartsWith(bench.At(bench.LineOf(protection, "  label:") - 1)), HasSubstr(words)));
}

TEST(ToldProtections, NothingIsSaidOfTheShippedOnes) {
  EXPECT_THAT(SaidOf(EditedBench("hill_climb")), IsEmpty());
}

TEST(ToldProtections, ALimitAtTheEndOfTheTableNeverActs) {
  EditedBench bench("hill_climb");
  bench.Edit(kCoolant, "118 °C", "140 °C");
  EXPECT_THAT(SaidOf(bench),
              OnlyAt(bench, kCoolant, "it never acts: the table of 'coolant_temperature'"));
}

TEST(ToldProtections, ALimitJustInsideDoes) {
  EditedBench bench("hill_climb");
  bench.Edit(kCoolant, "118 °C", "119.9 °C");
  EXPECT_THAT(SaidOf(bench), IsEmpty());
}

TEST(ToldProtections, SoOfOneFromBelow) {
  EditedBench bench("hill_climb");
  bench.Edit(kOil, "120 kPa", "0 kPa\n    tolerance: 1 kPa");
  EXPECT_THAT(SaidOf(bench), OnlyAt(bench, kOil, "gives 0 kPa at least, not less than 0 kPa"));
}

TEST(ToldProtections, AReleaseThatIsNeverReachedIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit(kOil, "150 kPa", "1200 kPa");
  EXPECT_THAT(SaidOf(bench), OnlyAt(bench, kOil, "once it acts it never lets go"));
}

// The table goes on along the same line, the sensor ends at 10 bar.
TEST(ToldProtections, ASensorThatDoesNotReachTheLimitIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit("\n    oil_pressure:\n      unit", "[4.5, 1000]", "[4.7, 1050]");
  bench.Edit(kOil, "below: 120 kPa", "above: 1020 kPa");
  bench.Edit(kOil, "150 kPa", "900 kPa");
  EXPECT_THAT(SaidOf(bench), OnlyAt(bench, kOil, "it never acts: sensor 'oil_pressure'"));
}

// 120 kPa is 0.5 V + 120/1000 · 4 V = 0.98 V.
TEST(ToldProtections, ALimitWhereTheSignalReadsAsBrokenIsNamed) {
  EditedBench bench("hill_climb");
  bench.Edit("\n    oil_pressure:\n      unit", "low_v: 0.25 V", "low_v: 1.2 V");
  EXPECT_THAT(
      SaidOf(bench),
      OnlyAt(bench, kOil,
             "its limit stands at 0.98 V, where 'oil_pressure' takes its signal for too low"));
}

}  // namespace
}  // namespace drycrank::proofread
