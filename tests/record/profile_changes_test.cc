// SPDX-License-Identifier: Apache-2.0
//
// A record's own copies of its profiles beside the files that it is judged with.
#include "record/profile_changes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "tests/support/scratch_folder.h"

namespace drycrank::record {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

class ProfileChange : public testing::Test {
 protected:
  ProfileChange() {
    Put("r/record.json", R"({"version": "1", "profiles": [{"file": "profiles/000-s.yaml"},
        {"file": "profiles/001-b.yaml"}, {"file": "../../b.yaml"}, 7, {"file": 7}]})");
    Put("r/profiles/000-s.yaml", "kind: scenario\n");
    Put("r/profiles/001-b.yaml", "kind: bench\nname: b\nvolts: 12\n");
    Put("now/s.yaml", "kind: scenario\n");
    Put("now/b.yaml", "kind: bench\nname: b\nvolts: 12\n");
  }
  void Put(const std::string& name, const std::string& text) const {
    std::filesystem::create_directories(std::filesystem::path(In(name)).parent_path());
    std::ofstream(In(name)) << text;
  }
  std::string In(const std::string& name) const { return folder_.Path(name); }
  std::vector<std::string> Changes(const std::vector<std::string>& names, bool is_live = false,
                                   const std::string& version = "1") const {
    std::vector<std::string> files;
    for (const std::string& name : names) files.push_back(In("now/" + name));
    return ProfileChanges(In("r"), files, version, is_live);
  }
  const ScratchFolder folder_;
};

TEST_F(ProfileChange, TheSameFilesAreNone) {
  EXPECT_THAT(Changes({"s.yaml", "b.yaml"}), IsEmpty());
}

TEST_F(ProfileChange, TheFirstLineThatDiffersIsSaid) {
  Put("now/b.yaml", "kind: bench\nname: b\nvolts: 14\n");
  EXPECT_THAT(Changes({"s.yaml", "b.yaml"}),
              ElementsAre("b.yaml is not as it was at that run, from line 3 on"));
}

TEST_F(ProfileChange, TheRecordsOwnCopyIsTheFile) {
  const std::string copies = In("r/profiles/");
  EXPECT_THAT(ProfileChanges(In("r"), {copies + "000-s.yaml", copies + "001-b.yaml"}, "1", false),
              IsEmpty());
}

TEST_F(ProfileChange, FilesThatOneOfThemReadAreSaid) {
  Put("now/more.yaml", "");
  EXPECT_THAT(Changes({"s.yaml", "more.yaml"}),
              ElementsAre("more.yaml was not read by that run",
                          "b.yaml was read by that run, and is not read now"));
}

// Its scenario is what it was told.
TEST_F(ProfileChange, ABenchRunLiveReadNoScenario) {
  Put("now/more.yaml", "");
  EXPECT_THAT(Changes({"s.yaml", "b.yaml", "more.yaml"}, true), IsEmpty());
}

TEST_F(ProfileChange, AnotherVersionIsSaid) {
  EXPECT_THAT(Changes({"s.yaml", "b.yaml"}, false, "2"),
              ElementsAre("the record was made by version 1, this is 2"));
}

TEST_F(ProfileChange, ADamagedHeadTellsNothing) {
  for (const char* head : {"", "{", "[]", R"({"profiles": 1})"}) {
    Put("r/record.json", head);
    EXPECT_THAT(Changes({"s.yaml"}), IsEmpty()) << head;
  }
}

}  // namespace
}  // namespace drycrank::record
