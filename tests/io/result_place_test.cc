// SPDX-License-Identifier: Apache-2.0
#include "io/result_place.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/file.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <fstream>

#include "io/folder_lock.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

constexpr const char* kHead = R"({"program": "drycrank", "format": 2})";

class ResultPlace : public testing::Test {
 protected:
  std::string In(const std::string& name) const { return folder_.Path(name); }
  std::string Put(const std::string& name, const std::string& text = "x") const {
    fs::create_directories(fs::path(In(name)).parent_path());
    std::ofstream(In(name)) << text;
    return In(name);
  }
  std::string Why(const std::string& path, const std::vector<std::string>& inputs = {},
                  const std::string& record = "") const {
    return WhyNotThere({{"--html", path, "<"}}, inputs, record);
  }

  const ScratchFolder folder_;
};

TEST_F(ResultPlace, ANewFileAndAnOlderPageAreFree) {
  EXPECT_EQ(Why(In("page.html")), "");
  EXPECT_EQ(Why(Put("page.html", "<!DOCTYPE html>")), "");
  EXPECT_EQ(Why(Put("empty.html", "")), "");
  EXPECT_EQ(Why("/dev/null"), "");
  EXPECT_EQ(Why(""), "");
}

TEST_F(ResultPlace, AnInputIsRefusedByEachOfItsNames) {
  const std::string input = Put("scenario.yaml", "<");
  fs::create_symlink(input, In("link"));
  fs::create_hard_link(input, In("second"));
  const std::string text = "this command reads that file";
  EXPECT_THAT(Why(input, {input}), HasSubstr("--html " + input + ": " + text));
  EXPECT_THAT(Why(In("./scenario.yaml"), {input}), HasSubstr(text));
  EXPECT_THAT(Why(In("link"), {input}), HasSubstr(text));
  EXPECT_THAT(Why(In("second"), {input}), HasSubstr(text));
}

TEST_F(ResultPlace, FilesOfARecordAreRefusedAndItsReportsAreForWhoMakesThem) {
  Put("out/record.json", kHead);
  Put("out/profiles/000-kart.yaml");
  for (const char* name : {"out/events.csv", "out/record.json", "out/profiles/000-kart.yaml",
                           "out/answers", "out/profiles/new.html"}) {
    EXPECT_THAT(Why(In(name)), HasSubstr("file of the record in " + In("out"))) << name;
  }
  EXPECT_THAT(Why(In("out/report.html")), HasSubstr("file of the record in " + In("out")));
  EXPECT_EQ(Why(In("out/report.html"), {}, In("out")), "");
  EXPECT_EQ(Why(In("events.csv")), "") << "no record is there";
}

TEST_F(ResultPlace, FilesOfARecordThatIsStillToBeMadeAreRefused) {
  EXPECT_THAT(Why(In("out/events.csv"), {}, In("out")), HasSubstr("file of the record"));
  EXPECT_EQ(Why(In("out/page.html"), {}, In("out")), "");
}

TEST_F(ResultPlace, WhatIsThereAndIsNoReportStays) {
  EXPECT_THAT(Why(Put("notes.txt", "precious")), HasSubstr("is no such result"));
}

TEST_F(ResultPlace, AResultIsKnownByWhatItHolds) {
  const auto why = [&](const std::string& text) {
    return WhyNotThere({{"--html", Put("page.html", text), {"<!DOCTYPE html>", "drycrank"}}}, {});
  };
  EXPECT_EQ(why("<!DOCTYPE html><html>drycrank"), "");
  EXPECT_THAT(why("<!DOCTYPE html><html>mine"), HasSubstr("no such result"));
  EXPECT_THAT(why("<html>drycrank"), HasSubstr("no such result"));
  EXPECT_THAT(why("<!DOCTYPE html>" + std::string(2000, ' ') + "drycrank"), HasSubstr("no such"));
  EXPECT_EQ(WhyNotThere({{"--out", Put("a.csv", "17,1"), {"0"}}}, {}), "");
  EXPECT_THAT(WhyNotThere({{"--out", Put("a.csv", "t,1"), {"0"}}}, {}),
              HasSubstr("no such result"));
}

// They are taken away with all that is in them.
TEST_F(ResultPlace, WhereARecordIsMadeNothingElseIs) {
  Put("out/record.json", kHead);
  Put("out/record_in_making.drycrank/profiles/000-kart.yaml");
  Put("out/record_before.drycrank/events.csv.being_made", "0,step,0,idle\n");
  EXPECT_EQ(WhyNoRecordThere(In("out"), true), "");
  Put("out/record_before.drycrank/motion.csv", "mine");
  EXPECT_THAT(WhyNoRecordThere(In("out"), true), HasSubstr("record_before.drycrank/motion.csv"));
  fs::remove(In("out/record_before.drycrank/motion.csv"));
  Put("out/record_before.drycrank/profiles/mine.yaml");
  EXPECT_THAT(WhyNoRecordThere(In("out"), true),
              HasSubstr("record_before.drycrank/profiles/mine.yaml"));
  fs::remove_all(In("out/record_before.drycrank"));
  fs::create_symlink(In("elsewhere"), In("out/record_before.drycrank"));
  EXPECT_THAT(WhyNoRecordThere(In("out"), true), HasSubstr("record_before.drycrank in it is a link"));
}

TEST_F(ResultPlace, AFolderThatIsNotThereIsNamed) {
  EXPECT_THAT(Why(In("no/page.html")), HasSubstr("mkdir -p " + In("no")));
  EXPECT_THAT(Why(In("")), HasSubstr("that is a folder"));
}

TEST_F(ResultPlace, TwoResultsHaveTwoPlaces) {
  const std::string page = In("page");
  EXPECT_THAT(WhyNotThere({{"--html", page, "<"}, {"--json", page, "{"}}, {}),
              HasSubstr("--json " + page + ": --html goes there too"));
  EXPECT_EQ(WhyNotThere({{"--html", "/dev/null", "<"}, {"--json", "/dev/null", "{"}}, {}), "");
}

TEST_F(ResultPlace, AFolderThatAnotherProcessHoldsIsRefusedByName) {
  fs::create_directories(In("held"));
  int ready[2];
  ASSERT_EQ(pipe(ready), 0);
  const pid_t other = fork();
  if (other == 0) {
    const int folder = open(In("held").c_str(), O_RDONLY | O_DIRECTORY);
    const bool locked = flock(folder, LOCK_EX) == 0;
    if (write(ready[1], locked ? "y" : "n", 1) == 1) pause();
    _exit(0);
  }
  char got = 0;
  ASSERT_EQ(read(ready[0], &got, 1), 1);
  ASSERT_EQ(got, 'y');
  EXPECT_THAT(Why(In("held/page.html")),
              HasSubstr("is in use by process " + std::to_string(other)));
  kill(other, SIGKILL);
  waitpid(other, nullptr, 0);
  EXPECT_EQ(Why(In("held/page.html")), "");
  FolderLock mine;
  ASSERT_EQ(mine.Take(In("held")), "");
  EXPECT_EQ(Why(In("held/page.html")), "") << "our own hold is in nobody's way";
}

TEST_F(ResultPlace, ARecordBeginsInAnEmptyFolderOrInPlaceOfOne) {
  EXPECT_EQ(WhyNoRecordThere(In("new"), false), "");
  fs::create_directories(In("empty"));
  EXPECT_EQ(WhyNoRecordThere(In("empty"), false), "");
  Put("old/record.json", kHead);
  Put("old/my notes");
  EXPECT_THAT(WhyNoRecordThere(In("old"), false), HasSubstr("holds a record already"));
  EXPECT_EQ(WhyNoRecordThere(In("old"), true), "");
}

TEST_F(ResultPlace, ForeignFilesAreNotMixedWithARecord) {
  Put("mine/photo.jpg");
  for (const bool overwrite : {false, true}) {
    EXPECT_THAT(WhyNoRecordThere(In("mine"), overwrite), HasSubstr("photo.jpg")) << overwrite;
  }
}

TEST_F(ResultPlace, ANameOfOursMakesNoFileOurs) {
  for (const char* name : {"record.json", "events.csv", "report.html", "edges.bin", "answers"}) {
    fs::remove_all(In("mine"));
    Put(std::string("mine/") + name, "my own text");
    EXPECT_THAT(WhyNoRecordThere(In("mine"), true), HasSubstr(name));
    EXPECT_THAT(WhyNoCampaignThere(In("mine")), HasSubstr(name));
  }
}

TEST_F(ResultPlace, ACampaignsFolderIsNoPlaceForARecordNorTheOtherWayRound) {
  Put("c/campaign.json", R"({"format": "drycrank campaign"})");
  EXPECT_THAT(WhyNoRecordThere(In("c"), true), HasSubstr("campaign.json"));
  EXPECT_EQ(WhyNoCampaignThere(In("c")), "");
  Put("c/record.json", kHead);
  EXPECT_THAT(WhyNoCampaignThere(In("c")), HasSubstr("record.json"));
}

TEST_F(ResultPlace, WhatABrokenOffRecordLeftIsReplacedWhenAskedFor) {
  Put("broken/events.csv", "0,step,0,at rest\n");
  EXPECT_THAT(WhyNoRecordThere(In("broken"), false), HasSubstr("left of a record"));
  EXPECT_EQ(WhyNoRecordThere(In("broken"), true), "");
  Put("broken/record_in_making.drycrank/record.json", kHead);
  EXPECT_EQ(WhyNoRecordThere(In("broken"), false), "") << "a record was begun in an empty folder";
  Put("broken/record_before.drycrank/record.json", kHead);
  EXPECT_THAT(WhyNoRecordThere(In("broken"), false), HasSubstr("left of a record"));
  Put("walk/answers", R"({"format":"drycrank walk answers"})");
  EXPECT_EQ(WhyNoRecordThere(In("walk"), false), "") << "a walk's book is there before its record";
}

}  // namespace
}  // namespace drycrank::io
