// SPDX-License-Identifier: Apache-2.0
//
// A schedule with thirty deliberate mistakes, each of a kind stated over its line in
// workshop_wrong.csv and workshop_wrong.yaml: each is found once, and nothing else. Its twin
// without a mistake: nothing is found.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <regex>
#include <set>
#include <sstream>

#include "profile/load.h"
#include "schedule/check.h"
#include "schedule/import.h"
#include "tests/schedule/text_of.h"

namespace drycrank::schedule {
namespace {

const std::string kFolder = DRYCRANK_TESTS_DIR "/schedule/";

// "workshop_wrong.csv:12 no_length" of each remark "# 2 no_length: ...": the line it stands over.
std::set<std::string> Stated(const std::string& name) {
  std::set<std::string> stated;
  std::vector<std::string> open;
  std::istringstream lines(TextOf(kFolder + name));
  const std::regex remark(R"(^\s*# \d+ (\w+): .*)");
  int number = 0;
  for (std::string line; std::getline(lines, line);) {
    ++number;
    std::smatch match;
    if (std::regex_match(line, match, remark)) {
      open.push_back(match[1]);
    } else {
      for (const std::string& kind : open) {
        stated.insert(name + ":" + std::to_string(number) + " " + kind);
      }
      open.clear();
    }
  }
  return stated;
}

// Each circuit but one, which is mistake 28.
profile::Scenario ProvingAllBut(const Schedule& schedule, const std::string& left_out) {
  profile::Scenario scenario;
  profile::Expectation expectation;
  for (const ScheduleWire& wire : schedule.wires) {
    if (wire.circuit.text != left_out) expectation.proves.push_back(wire.circuit.text);
  }
  scenario.expectations.push_back(expectation);
  return scenario;
}

struct Checked {
  std::multiset<std::string> findings;
  std::string text;
  int consequences = 0;
};
Checked CheckFiles(const std::string& csv, const std::string& bench, const std::string& left_out) {
  const auto loaded = profile::LoadBenchAsDrawn(kFolder + bench);
  for (const Diagnostic& problem : loaded.problems) ADD_FAILURE() << Format(problem);
  Imported imported = ImportCsv(csv, TextOf(kFolder + csv));
  const profile::Scenario scenario = ProvingAllBut(imported.schedule, left_out);
  const CheckResult result =
      CheckSchedule({&imported.schedule, &*loaded.bench, &scenario, imported.problems, Limits{}});
  Checked checked;
  for (const Finding& finding : result.findings) {
    const std::string file = finding.place.file.substr(finding.place.file.rfind('/') + 1);
    checked.findings.insert(file + ":" + std::to_string(finding.place.line) + " " +
                            std::string(DescribeKind(finding.kind).word));
  }
  checked.text = FindingsText(result);
  checked.consequences = result.consequences;
  return checked;
}

TEST(Workshop, ThirtyMistakesGiveThirtyFindingsAndNoOthers) {
  std::set<std::string> stated = Stated("workshop_wrong.csv");
  stated.merge(Stated("workshop_wrong.yaml"));
  ASSERT_EQ(stated.size(), 30u);
  const Checked checked = CheckFiles("workshop_wrong.csv", "workshop_wrong.yaml", "t14_signal");
  EXPECT_THAT(checked.findings, testing::ElementsAreArray(stated.begin(), stated.end()))
      << checked.text;
  EXPECT_GT(checked.consequences, 0);
}

TEST(Workshop, ItsTwinWithoutMistakesGivesNone) {
  const Checked checked = CheckFiles("workshop.csv", "workshop.yaml", "");
  EXPECT_EQ(checked.text,
            "Nothing found on paper. Before power is put on: continuity and shorts with the meter, "
            "fuses in.\n");
  EXPECT_EQ(checked.consequences, 0);
}

}  // namespace
}  // namespace drycrank::schedule
