// SPDX-License-Identifier: Apache-2.0
//
// The tables of keys, by themselves. That loader and schema are as the tables say: schema_test.py.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

#include "profile/bench.h"
#include "profile/explain.h"
#include "profile/key_page.h"
#include "profile/keys_bus.h"
#include "profile/kinds.h"
#include "profile/scenario_file.h"
#include "profile/schema.h"
#include "profile/sections.h"
#include "profile/sensors.h"
#include "profile/triggers.h"

namespace drycrank::profile {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

template <class Each>
void EachKey(Each each) {
  for (const SectionInfo& section : Sections()) {
    for (const Part& part : section.parts) {
      for (const KeyInfo& info : part.keys) each(section, part, info);
    }
  }
}

TEST(Keys, EachHasASentence) {
  EachKey([](const SectionInfo& section, const Part&, const KeyInfo& info) {
    EXPECT_TRUE(info.meaning.ends_with('.') || info.meaning.ends_with('?') ||
                info.meaning.ends_with("..."))
        << section.name << "." << info.key;
  });
}

TEST(Keys, AreNeededByTheirOwnName) {
  EachKey([](const SectionInfo& section, const Part&, const KeyInfo& info) {
    if (info.needs.empty()) return;
    EXPECT_THAT(std::string(info.needs), StartsWith(std::string(info.key) + ": ")) << section.name;
  });
}

// A default that could not be written is one in words.
TEST(Keys, HaveDefaultsWithinTheirLimits) {
  int numbers = 0;
  EachKey([&](const SectionInfo& section, const Part&, const KeyInfo& info) {
    if (!info.is_written) return;
    const std::string where = std::string(section.name) + "." + std::string(info.key);
    if (info.value.kind == ValueKind::kNumber) {
      ++numbers;
      EXPECT_GE(std::stod(info.usual), info.value.range.min) << where;
      EXPECT_LE(std::stod(info.usual), info.value.range.max) << where;
    } else if (info.value.kind == ValueKind::kWord) {
      EXPECT_THAT(info.value.words, Contains(info.usual)) << where;
    } else if (info.value.kind == ValueKind::kWhole) {
      EXPECT_GE(std::stoll(info.usual), info.value.low) << where;
      EXPECT_LE(std::stoll(info.usual), info.value.high) << where;
    }
  });
  EXPECT_GT(numbers, 50);
}

TEST(Keys, StandOnceInAPart) {
  for (const SectionInfo& section : Sections()) {
    for (const Part& part : section.parts) {
      std::set<std::string_view> seen;
      for (const KeyInfo& info : section.parts.front().keys) {
        if (&part != &section.parts.front()) seen.insert(info.key);
      }
      for (const KeyInfo& info : part.keys) {
        EXPECT_TRUE(seen.insert(info.key).second) << section.name << "." << info.key;
      }
    }
  }
}

std::vector<std::string> KindsOf(std::string_view section) {
  std::vector<std::string> kinds;
  for (const Part& part : SectionNamed(section).parts) {
    if (part.key == "kind") kinds.emplace_back(part.word);
  }
  return kinds;
}

TEST(Keys, HaveEveryKindOfFaultAndExpectation) {
  EXPECT_EQ(KindsOf("fault"), FaultKindNames());
  std::vector<std::string> expectations = WordsOf<ExpectationKind>();
  expectations.pop_back();  // witnessed: not in files
  EXPECT_EQ(KindsOf("expectation"), expectations);
}

TEST(Keys, HaveEveryKindOfSensorAndPickup) {
  std::vector<std::string> sensors = WordsOf<SensorModel>();
  sensors.emplace_back("fuel_composition");
  EXPECT_EQ(KindsOf("sensor"), sensors);
  EXPECT_EQ(KindsOf("pickup"), WordsOf<Pickup>());
}

TEST(Keys, HaveEverySender) { EXPECT_THAT(kSenderWords, testing::ElementsAreArray(SenderNames())); }

TEST(Explain, SaysRangeUnitAndDefaultOfAKey) {
  const std::string text = Explain("gauge.stale_ms");
  EXPECT_THAT(text, StartsWith("`stale_ms` in a gauge:\n"));
  EXPECT_THAT(text, HasSubstr("1 … 3600000 ms; default 1000"));
}

TEST(Explain, FindsAKeyInEverySectionThatHasIt) {
  const std::string text = Explain("offset_deg");
  EXPECT_THAT(text, HasSubstr("in a trigger:"));
  EXPECT_THAT(text, HasSubstr("in a trigger of the controller:"));
}

TEST(Explain, NamesTheKind) {
  EXPECT_THAT(Explain("r0_ohm"), HasSubstr("in a sensor with kind: platinum"));
  EXPECT_THAT(Explain("sensor.measures"), HasSubstr("; needed"));
}

TEST(Explain, FindsAKind) {
  EXPECT_THAT(Explain("wheel_offset"), HasSubstr("`kind: wheel_offset` in a fault:\n"));
  EXPECT_THAT(Explain("fault.wheel_offset"), HasSubstr("-720 … 720°"));
  EXPECT_THAT(Explain("platinum"), HasSubstr("r0_ohm"));
  EXPECT_THAT(NearKeys("weel_offset"), Contains("wheel_offset"));
}

TEST(Explain, ListsASection) {
  EXPECT_THAT(Explain("gauge"), HasSubstr("stale_ms"));
  EXPECT_THAT(ExplainSections(), HasSubstr("gauge"));
}

TEST(Explain, KnowsWhatMayHaveBeenMeant) {
  EXPECT_THAT(Explain("stale"), IsEmpty());
  EXPECT_THAT(NearKeys("stale"), Contains("stale_ms"));
  EXPECT_THAT(NearKeys("gauge.stael_ms"), Contains("stale_ms"));
  EXPECT_THAT(NearKeys("xyzzyxyzzy"), IsEmpty());
}

TEST(KeyPage, HasEverySection) {
  const std::string page = KeyPage();
  for (const SectionInfo& section : Sections()) {
    EXPECT_THAT(page, HasSubstr("\n## " + std::string(section.name) + "\n"));
  }
}

}  // namespace
}  // namespace drycrank::profile
