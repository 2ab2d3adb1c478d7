// SPDX-License-Identifier: Apache-2.0
#include "io/journal.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::string Contents(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

TEST(Journal, KeepsLinesFromOneOpeningToTheNext) {
  const ScratchFolder folder;
  const std::string path = folder.Path("book");
  {
    Journal journal;
    ASSERT_EQ(journal.Open(path), "");
    EXPECT_THAT(journal.lines(), IsEmpty());
    EXPECT_EQ(journal.Append("one"), "");
    EXPECT_EQ(Contents(path), "one\n");  // before anything else is done
    EXPECT_EQ(journal.Append("two"), "");
  }
  Journal again;
  ASSERT_EQ(again.Open(path), "");
  EXPECT_THAT(again.lines(), ElementsAre("one", "two"));
}

TEST(Journal, ALineThatWasCutIsTakenOff) {
  const ScratchFolder folder;
  const std::string path = folder.Path("book");
  std::ofstream(path) << "one\ntwo\nthr";
  {
    Journal journal;
    ASSERT_EQ(journal.Open(path), "");
    EXPECT_THAT(journal.lines(), ElementsAre("one", "two"));
    EXPECT_EQ(journal.Append("three"), "");
  }
  EXPECT_EQ(Contents(path), "one\ntwo\nthree\n");
}

TEST(Journal, IsOpenOnceOnly) {
  const ScratchFolder folder;
  const std::string path = folder.Path("book");
  Journal first, second;
  ASSERT_EQ(first.Open(path), "");
  EXPECT_THAT(second.Open(path), HasSubstr("in use by another drycrank"));
}

TEST(Journal, TroubleIsNamed) {
  const ScratchFolder folder;
  Journal nowhere;
  EXPECT_THAT(nowhere.Open(folder.Path("no/such/folder")), HasSubstr("No such file"));
}

}  // namespace
}  // namespace drycrank::io
