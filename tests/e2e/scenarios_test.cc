// SPDX-License-Identifier: Apache-2.0
//
// Every scenario that is shipped, played in virtual time: the expectations that fail must be exactly
// those that verdicts.txt lists for it. A healthy scenario lists none.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>

#include "profile/load.h"
#include "report/summary.h"
#include "study/play.h"
#include "types/clock.h"

namespace drycrank {
namespace {

using Names = std::set<std::string>;

// "hill_climb/cam_missing: name name ..." per line; "#" begins a comment.
std::map<std::string, Names> ExpectedFailures() {
  std::map<std::string, Names> expected;
  std::ifstream file(std::string(DRYCRANK_TESTS_DIR) + "/e2e/verdicts.txt");
  std::string line;
  while (std::getline(file, line)) {
    if (line.empty() || line[0] == '#') continue;
    const auto colon = line.find(':');
    std::istringstream names(line.substr(colon + 1));
    Names& set = expected[line.substr(0, colon)];
    for (std::string name; names >> name;) set.insert(name);
  }
  return expected;
}

// What is left of an allowance is at most all of it.
void ExpectAShare(const report::Report& report, const check::Verdict& verdict) {
  const std::string words = report::RelativeMarginInWords(report, verdict);
  if (!words.ends_with(" left")) return;
  const double share = report::RelativeMargin(report, verdict);
  EXPECT_TRUE(share >= 0 && share <= 1 + 1e-12)
      << report::ExpectationOf(report, verdict).name << ": " << words;
}

Names FailuresOf(const std::string& path) {
  const profile::LoadedScenario loaded = profile::LoadScenario(path);
  for (const Diagnostic& problem : loaded.problems) ADD_FAILURE() << Format(problem);
  Names failed;
  if (!loaded.scenario) return {"does not load"};
  VirtualClock clock;
  study::PlayOptions options;
  options.run.seed = loaded.scenario->seed;
  options.clock = &clock;
  options.pictures = false;
  const study::PlayResult result = study::Play(*loaded.bench, *loaded.scenario, options);
  for (const check::Verdict& verdict : result.report.verdicts) {
    ExpectAShare(result.report, verdict);
    if (verdict.outcome == check::Outcome::kMet) continue;
    failed.insert(
        loaded.scenario->expectations[static_cast<std::size_t>(verdict.expectation)].name);
  }
  return failed;
}

class ShippedScenario : public testing::TestWithParam<std::pair<const std::string, Names>> {};

TEST_P(ShippedScenario, FailsExactlyInItsOwnExpectations) {
  const std::string path = DRYCRANK_PROFILES_DIR "/scenarios/" + GetParam().first + ".yaml";
  EXPECT_EQ(FailuresOf(path), GetParam().second);
}

std::string TestName(const testing::TestParamInfo<ShippedScenario::ParamType>& info) {
  std::string name = info.param.first;
  for (char& c : name) {
    if (c == '/') c = '_';
  }
  return name;
}

INSTANTIATE_TEST_SUITE_P(Verdicts, ShippedScenario, testing::ValuesIn(ExpectedFailures()),
                         TestName);

TEST(ShippedScenarios, AreAllListedInVerdicts) {
  const auto expected = ExpectedFailures();
  const std::filesystem::path root(DRYCRANK_PROFILES_DIR "/scenarios");
  std::size_t healthy = 0, faulty = 0;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(root)) {
    if (entry.path().extension() != ".yaml") continue;
    const std::string name =
        std::filesystem::relative(entry.path(), root).replace_extension().string();
    EXPECT_EQ(expected.count(name), 1u) << name << " is not in tests/e2e/verdicts.txt";
  }
  for (const auto& [name, failures] : expected) ++(failures.empty() ? healthy : faulty);
  EXPECT_GE(healthy, 4u);
  EXPECT_GE(faulty, 10u);
}

}  // namespace
}  // namespace drycrank
