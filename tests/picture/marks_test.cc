// SPDX-License-Identifier: Apache-2.0
#include "picture/marks.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

namespace drycrank::picture {
namespace {

profile::Bench WithReadouts() {
  profile::Bench bench;
  for (const char* name : {"coolant", "oil"}) {
    profile::Readout readout;
    readout.name = name;
    bench.readouts.push_back(readout);
  }
  bench.readouts.front().lamp = "red";
  profile::Readout gear;
  gear.name = "gear";
  gear.page = 2;
  bench.readouts.push_back(gear);
  return bench;
}

class MarksFile : public testing::Test {
 protected:
  ReadMarks Read(const std::string& text) {
    std::ofstream(path_) << text;
    return LoadMarks(path_, WithReadouts());
  }
  void TearDown() override { std::filesystem::remove(path_); }

  std::string path_ = testing::TempDir() + "/marks_" +
                      testing::UnitTest::GetInstance()->current_test_info()->name() + ".yaml";
};

TEST_F(MarksFile, WhatIsWrittenIsReadBack) {
  Sheet sheet;
  sheet.width_px = 390;
  sheet.height_px = 614;
  sheet.places = {{"coolant", {18, 69, 129, 46}, {}, {168, 57, 10, 10}},
                  {"oil", {213, 69, 129, 46}, {}, {}}};
  const ReadMarks read = Read(MarksText({{2, "dark.png", sheet}}, 2));
  for (const Diagnostic& problem : read.problems) ADD_FAILURE() << Format(problem);
  ASSERT_TRUE(read.marks);
  const MarkedPage& page = read.marks->pages.at(2);
  EXPECT_EQ(page.dark, "dark.png");
  EXPECT_EQ((*page.corners)[2].x, 780);
  EXPECT_EQ((*page.corners)[2].y, 1228);
  EXPECT_EQ(page.readouts.at("coolant").text.left, 18);
  EXPECT_EQ(page.readouts.at("coolant").lamp->width, 10);
  EXPECT_FALSE(page.readouts.at("oil").lamp);
}

TEST_F(MarksFile, EachMistakeHasItsPlaceAndRemedy) {
  const ReadMarks read = Read(
      "kind: marks\npages:\n  1:\n    size: [390, 614]\n    corners: [[0, 0], [0, 9], [9, 9], [9, "
      "0]]\n    readouts:\n      coolant: {text: [18, 69, 129, 46]}\n      oil: {text: [380, 69, "
      "129, 46]}\n      fuel: {text: [18, 69, 129, 46]}\n");
  EXPECT_FALSE(read.marks);
  ASSERT_EQ(read.problems.size(), 5U);
  for (const Diagnostic& problem : read.problems)
    EXPECT_THAT(Format(problem), testing::HasSubstr(";"));
  EXPECT_EQ(read.problems[0].place.line, 5);
  EXPECT_EQ(read.problems[4].place.line, 9);
}

TEST_F(MarksFile, APageThatTheBenchDoesNotHaveIsSaid) {
  const ReadMarks read =
      Read("kind: marks\npages:\n  7:\n    size: [390, 614]\n    readouts: {}\n");
  ASSERT_EQ(read.problems.size(), 1U);
  EXPECT_THAT(Format(read.problems[0]),
              testing::HasSubstr(":3:3: the bench has no page 7; it has page 1, 2; "));
}

TEST_F(MarksFile, AnEmptyFileIsToldWhatMarksNeed) {
  const ReadMarks read = Read("");
  ASSERT_EQ(read.problems.size(), 1U);
  EXPECT_THAT(Format(read.problems[0]),
              testing::HasSubstr("the file is empty; marks need 'kind: marks'"));
}

TEST_F(MarksFile, ANewerFormatIsRefused) {
  EXPECT_FALSE(Read("kind: marks\nformat: 2\npages: {}\n").marks);
}

}  // namespace
}  // namespace drycrank::picture
