// SPDX-License-Identifier: Apache-2.0
#include "study/bus_lines.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

namespace drycrank::study {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;
using testing::StartsWith;

report::MessageLine Line(const std::string& name, std::uint64_t skipped, std::uint64_t replaced) {
  report::MessageLine line;
  line.bus = "vehicle";
  line.message = name;
  line.sent = 94;
  line.skipped = skipped;
  line.replaced = replaced;
  return line;
}

TEST(MessageNotes, NothingLostIsNotMentioned) {
  EXPECT_THAT(MessageNotes({Line("fast", 0, 0)}), IsEmpty());
}

TEST(MessageNotes, EachOfAFewByName) {
  EXPECT_THAT(MessageNotes({Line("fast", 6, 0), Line("slow", 0, 2), Line("steady", 0, 0)}),
              ElementsAre(StartsWith("6 of 100 frames of fast were left out"),
                          StartsWith("2 values of slow never got onto bus vehicle")));
}

// A thousand messages on a slow machine: the reader still finds the verdict below.
TEST(MessageNotes, OfManyThoseThatLostMost) {
  std::vector<report::MessageLine> lines;
  for (std::uint64_t i = 1; i <= 1000; ++i) lines.push_back(Line("m" + std::to_string(i), i, 0));
  const std::vector<std::string> notes = MessageNotes(lines);
  ASSERT_THAT(notes, SizeIs(6));
  EXPECT_THAT(notes[0], StartsWith("1000 of 1094 frames of m1000 "));
  EXPECT_THAT(notes[4], StartsWith("996 of 1090 frames of m996 "));
  // 1 + 2 + ... + 995
  EXPECT_EQ(notes[5], "so were 495510 frames of 995 other messages");
}

TEST(MessageNotes, TheSameForValuesThatWereOvertaken) {
  std::vector<report::MessageLine> lines;
  for (std::uint64_t i = 1; i <= 7; ++i) lines.push_back(Line("m" + std::to_string(i), 0, i));
  const std::vector<std::string> notes = MessageNotes(lines);
  ASSERT_THAT(notes, SizeIs(6));
  EXPECT_THAT(notes[0], StartsWith("7 values of m7 never got onto bus vehicle"));
  EXPECT_EQ(notes[5], "nor did 3 values of 2 other messages");
}

}  // namespace
}  // namespace drycrank::study
