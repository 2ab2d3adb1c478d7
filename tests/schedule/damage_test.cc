// SPDX-License-Identifier: Apache-2.0
//
// Sheets damaged at random: bytes swapped, pieces lost, doubled, put in. Whatever comes of it is
// read, checked and drawn without end or fall, and each finding says where and what.
#include <gtest/gtest.h>

#include "profile/load.h"
#include "schedule/check.h"
#include "schedule/draw.h"
#include "schedule/import.h"
#include "tests/schedule/text_of.h"
#include "types/random.h"
#include "yaml/utf8.h"

namespace drycrank::schedule {
namespace {

std::size_t Below(Random& random, std::size_t limit) {
  return static_cast<std::size_t>(random.Next() % limit);
}

std::string Damaged(std::string text, Random& random) {
  static constexpr std::string_view kBytes = ",;\t\"1.SGE-\n";
  static constexpr std::string_view kWords[] = {"SGA", "S12", "GP", "ECU", "1", "T1", ",,,", "\""};
  for (std::size_t hits = 1 + Below(random, 10); hits > 0; --hits) {
    const std::size_t at = Below(random, text.size());
    switch (Below(random, 4)) {
      case 0:
        text[at] = kBytes[Below(random, kBytes.size())];
        break;
      case 1:
        text.erase(at, Below(random, 30));
        break;
      case 2:
        text.insert(at, kWords[Below(random, std::size(kWords))]);
        break;
      default:
        text.insert(at, text.substr(Below(random, text.size()), Below(random, 80)));
    }
  }
  return text;
}

TEST(Damage, IsSaidAndEndsNothing) {
  const std::string folder = DRYCRANK_TESTS_DIR "/schedule/";
  const auto bench = profile::LoadBench(folder + "workshop.yaml").bench;
  ASSERT_TRUE(bench);
  const std::string sheet = TextOf(folder + "workshop_wrong.csv");
  Random random(20, 0);
  int findings = 0;
  for (int i = 0; i < 120; ++i) {
    const std::string text = Damaged(sheet, random);
    if (yaml::FindNotText(text)) continue;
    const Imported imported = ImportCsv("a.csv", text);
    CheckInput input;
    input.schedule = &imported.schedule;
    input.bench = &*bench;
    input.unreadable = imported.problems;
    for (const Finding& finding : CheckSchedule(input).findings) {
      EXPECT_FALSE(finding.what.empty());
      EXPECT_FALSE(finding.place.file.empty()) << finding.what;
      ++findings;
    }
    EXPECT_TRUE(HarnessSvg(BenchWith(*bench, imported.schedule)).text().ends_with("</svg>\n"));
  }
  EXPECT_GT(findings, 120 * 20);
}

}  // namespace
}  // namespace drycrank::schedule
