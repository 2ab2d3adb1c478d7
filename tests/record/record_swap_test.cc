// SPDX-License-Identifier: Apache-2.0
#include "record/record_swap.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <set>

#include "tests/support/scratch_folder.h"

namespace drycrank::record {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;

class RecordSwap : public testing::Test {
 protected:
  RecordSwap() {
    Put("record.json", R"({"profiles": [{"file": "profiles/000-old.yaml"}]})");
    Put("events.csv", "old");
    Put("outputs.csv", "of format 1");
    Put("report.html", "all met");
    Put("profiles/000-old.yaml", "old");
    Put("profiles/mine.yaml", "mine");
    Put("notes.txt", "mine");
  }
  void Put(const fs::path& name, const std::string& text) const {
    fs::create_directories((folder_.path() / name).parent_path());
    std::ofstream(folder_.path() / name) << text;
  }
  // The new record is complete in its own folder.
  std::string Swap() const {
    const Aside aside(folder_.path());
    Put("record_in_making.drycrank/record.json", "{}");
    Put("record_in_making.drycrank/events.csv", "new");
    Put("record_in_making.drycrank/profiles/000-new.yaml", "new");
    return MoveIn(aside.path, folder_.path());
  }
  std::string Text(const fs::path& name) const {
    std::ifstream file(folder_.path() / name);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  std::set<std::string> Files() const {
    std::set<std::string> names;
    for (const auto& entry : fs::recursive_directory_iterator(folder_.path())) {
      names.insert(entry.path().lexically_relative(folder_.path()).string());
    }
    return names;
  }

  const ScratchFolder folder_;
};

TEST_F(RecordSwap, TheNewOneIsThereWithoutVerdictsOfTheOldAndNothingForeignIsGone) {
  EXPECT_EQ(Swap(), "");
  EXPECT_THAT(Files(), ElementsAre("events.csv", "notes.txt", "profiles", "profiles/000-new.yaml",
                                   "profiles/mine.yaml", "record.json"));
  EXPECT_EQ(Text("events.csv"), "new");
}

// A folder in the place of a file, which no rename replaces: it ends there, as when killed.
TEST_F(RecordSwap, WhoeverIsStoppedWithinLeavesTheOldOneWhole) {
  fs::create_directories(folder_.path() / "profiles/000-new.yaml/in the way");
  EXPECT_NE(Swap(), "");
  EXPECT_FALSE(fs::exists(folder_.path() / "record.json"));
  EXPECT_EQ(Text("record_before.drycrank/events.csv"), "old");
  EXPECT_EQ(Text("record_before.drycrank/report.html"), "all met");
  EXPECT_EQ(Text("record_before.drycrank/profiles/000-old.yaml"), "old");
  EXPECT_THAT(Text("record_before.drycrank/record.json"), testing::HasSubstr("000-old.yaml"));
  // And the next one takes the place of both.
  fs::remove_all(folder_.path() / "profiles/000-new.yaml");
  EXPECT_EQ(Swap(), "");
  EXPECT_FALSE(fs::exists(folder_.path() / "record_before.drycrank"));
  EXPECT_EQ(Text("profiles/mine.yaml"), "mine");
}

TEST_F(RecordSwap, WhatIsLeftOfABrokenOffRecordIsReplaced) {
  fs::remove(folder_.path() / "record.json");
  EXPECT_EQ(Swap(), "");
  EXPECT_FALSE(fs::exists(folder_.path() / "profiles/000-old.yaml"));
  EXPECT_EQ(Text("profiles/mine.yaml"), "mine");
}

}  // namespace
}  // namespace drycrank::record
