// SPDX-License-Identifier: Apache-2.0
#include "io/journal.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <unistd.h>

#include <csignal>
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

// The file may have 10 bytes (RLIMIT_FSIZE, setrlimit(2)), in a process of its own for the limit's sake.
TEST(Journal, OfALineThatDidNotFitNothingIsLeft) {
  const ScratchFolder folder;
  const std::string path = folder.Path("book");
  const auto fill_up = [&] {
    signal(SIGXFSZ, SIG_IGN);
    const rlimit most{10, 10};
    setrlimit(RLIMIT_FSIZE, &most);
    Journal journal;
    const bool fits = journal.Open(path).empty() && journal.Append("one").empty();
    const bool refused = journal.Append("two and more").find("File too large") != std::string::npos;
    _exit(fits && refused && journal.Append("three").empty() ? 0 : 1);
  };
  EXPECT_EXIT(fill_up(), testing::ExitedWithCode(0), "");
  EXPECT_EQ(Contents(path), "one\nthree\n");
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
