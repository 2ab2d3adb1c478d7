// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

#include "report/report.h"
#include "report/text.h"
#include "tests/report/demo_report.h"

namespace drycrank::report {
namespace {

using testing::HasSubstr;
using testing::Not;

std::vector<std::string> Lines(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

// Lines joined by one space, so that a search does not depend on where they break.
std::string Unwrapped(const std::string& text) {
  std::string out;
  std::istringstream in(text);
  for (std::string word; in >> word;) out += word + ' ';
  return out;
}

TEST(Terminal, FailureSaysWhatItMeansAndWhereToLook) {
  DemoReport demo;
  const std::string text = Unwrapped(Terminal(demo.report, false, 80));
  EXPECT_THAT(text, HasSubstr("The two leads of the cam sensor may be swapped."));
  EXPECT_THAT(text, HasSubstr("reported 141.0 °C, should be 90.0 °C ± 2.0 °C, at 14.200 s"));
  EXPECT_THAT(text, HasSubstr("look at cam_signal: CMP.1 to ECU.30, grey/red"));
  EXPECT_THAT(text, HasSubstr("1 of 5 circuits proven"));
  EXPECT_THAT(text, HasSubstr("fuel_signal: not shown"));
  EXPECT_THAT(text, HasSubstr("✗ FAILED: 2 circuits, 4 of 7 expectations met, 3 failed"));
}

TEST(Terminal, HealthyRunShowsNoFailure) {
  DemoReport demo;
  MakeHealthy(demo);
  const std::string text = Unwrapped(Terminal(demo.report, false, 80));
  EXPECT_THAT(text, Not(HasSubstr("swapped.")));
  EXPECT_THAT(text, Not(HasSubstr("✗")));
  EXPECT_THAT(
      text,
      HasSubstr("✓ The bench as drawn works: all 7 expectations met. Nothing real was judged"));
}

TEST(Terminal, NothingExpectedIsNoSuccess) {
  DemoReport demo;
  demo.report.verdicts.clear();
  demo.report.coverage.clear();
  EXPECT_THAT(Terminal(demo.report, false, 80), HasSubstr("○ NOTHING SHOWN"));
}

TEST(Terminal, FitsItsColumns) {
  DemoReport demo;
  demo.scenario.expectations[3].name = std::string(150, 'x');
  demo.bench.wires[0].colour = std::string(90, 'y');
  demo.report.verdicts[3].worst_ns = FromSeconds(86400);
  for (const int columns : {56, 80, 120}) {
    for (const std::string& line : Lines(Terminal(demo.report, false, columns))) {
      EXPECT_LE(Width(line), columns) << line;
    }
  }
}

TEST(Terminal, ColumnsOfTheTableStandBelowEachOther) {
  DemoReport demo;
  int end = 0;
  int rows = 0;
  for (const std::string& line : Lines(Terminal(demo.report, false, 80))) {
    const bool row = line.starts_with("verdict") || line.starts_with("✗ failed") ||
                     line.starts_with("✓ met") || line.starts_with("○ not seen");
    if (!row) continue;
    if (rows++ == 0) end = Width(line);
    EXPECT_EQ(Width(line), end) << line;
  }
  EXPECT_EQ(rows, 8);
}

TEST(Terminal, ColourOnlyWhenAskedFor) {
  DemoReport demo;
  EXPECT_THAT(Terminal(demo.report, false, 80), Not(HasSubstr("\x1b")));
  EXPECT_THAT(Terminal(demo.report, true, 80), HasSubstr("\x1b[1;31m✗ failed"));
}

TEST(Terminal, ProfileCannotCommandTheTerminal) {
  DemoReport demo;
  demo.scenario.expectations[0].name = "a\x1b[2Jb";
  demo.scenario.expectations[0].means = "\x1b]0;title\x07";
  demo.bench.title = "\x1b[31m";
  demo.report.verdicts[0].margin_unit = "\x1b[0m";
  demo.scenario.title =
      "\x9b"
      "31m";
  EXPECT_THAT(Terminal(demo.report, false, 80), Not(HasSubstr("\x1b")));
  EXPECT_THAT(Terminal(demo.report, false, 80), Not(HasSubstr("\x9b")));
}

}  // namespace
}  // namespace drycrank::report
