// SPDX-License-Identifier: Apache-2.0
#include "record/text_file.h"

#include <gtest/gtest.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "tests/support/scratch_folder.h"

namespace drycrank::record {
namespace {

std::vector<std::string> LinesOf(const std::string& path) {
  std::ifstream file(path);
  std::vector<std::string> lines;
  for (std::string line; std::getline(file, line);) lines.push_back(line);
  return lines;
}

// More than the background takes between two flushes: they wait in the file's own buffer.
TEST(TextFile, EveryLineIsThereOnceAndInOrder) {
  const ScratchFolder scratch;
  TextFile a(scratch.Path("a")), b(scratch.Path("b"));
  constexpr int kLines = 200'000;
  {
    io::BackgroundWriter background({&a, &b}, std::chrono::milliseconds(20));
    for (int i = 0; i < kLines; ++i) {
      a.Line("line {}", i);
      if (i % 1000 == 0) b.Flush();
      b.Line("{}", -i);
    }
  }
  a.Line("the end");
  EXPECT_EQ(a.Close(), "");
  EXPECT_EQ(b.Close(), "");
  const std::vector<std::string> of_a = LinesOf(scratch.Path("a"));
  const std::vector<std::string> of_b = LinesOf(scratch.Path("b"));
  ASSERT_EQ(of_a.size(), kLines + 1u);
  ASSERT_EQ(of_b.size(), std::size_t{kLines});
  for (int i = 0; i < kLines; ++i) {
    ASSERT_EQ(of_a[static_cast<std::size_t>(i)], "line " + std::to_string(i));
    ASSERT_EQ(of_b[static_cast<std::size_t>(i)], std::to_string(-i));
  }
  EXPECT_EQ(of_a.back(), "the end");
}

// /dev/full takes no byte (full(4)).
TEST(TextFile, AFullDiskIsToldAtTheEnd) {
  TextFile file("/dev/full");
  {
    io::BackgroundWriter background({&file}, std::chrono::milliseconds(20));
    file.Line("lost");
    file.Flush();
  }
  EXPECT_NE(file.Close().find("No space left"), std::string::npos);
}

// The file may have 1000 bytes (RLIMIT_FSIZE, setrlimit(2)), in a process of its own for the limit's sake.
void FillUp(const std::string& path, bool with_reason) {
  signal(SIGXFSZ, SIG_IGN);
  const rlimit most{1000, 1000};
  setrlimit(RLIMIT_FSIZE, &most);
  TextFile file(path);
  if (with_reason) {
    file.WhenFull([](std::string_view last, const std::string& trouble) {
      return std::string(last) + ": " + trouble + "\n";
    });
  }
  for (int i = 100; i < 300; ++i) file.Line("line {}", i);  // 9 bytes each
  static_cast<void>(file.Close());
  _exit(0);
}

TEST(TextFile, AFullDiskLeavesNoHalfLine) {
  const ScratchFolder scratch;
  EXPECT_EXIT(FillUp(scratch.Path("a"), false), testing::ExitedWithCode(0), "");
  EXPECT_EQ(std::filesystem::file_size(scratch.Path("a")), 999u);  // 111 lines
  EXPECT_EQ(LinesOf(scratch.Path("a")).back(), "line 210");
}

TEST(TextFile, AFullDiskHasTheReasonAsItsLastLine) {
  const ScratchFolder scratch;
  EXPECT_EXIT(FillUp(scratch.Path("a"), true), testing::ExitedWithCode(0), "");
  const std::vector<std::string> lines = LinesOf(scratch.Path("a"));
  // 256 bytes of 1000 make room: 744 hold 82 whole lines, the last of them "line 181".
  ASSERT_EQ(lines.size(), 83u);
  EXPECT_EQ(lines[81], "line 181");
  EXPECT_EQ(lines[82], "line 181: File too large");
}

// A disk that answers only in the end: the background is there, and takes nothing until then.
TEST(TextFile, ADiskThatStandsStillEndsTheFileAndMemoryDoesNotGrow) {
  const ScratchFolder scratch;
  TextFile file(scratch.Path("a"));
  file.WhenFull([](std::string_view last, const std::string& trouble) {
    return std::string(last.substr(0, 7)) + ": " + trouble + "\n";
  });
  file.BeginBackground();
  file.Line("line {:02}", 0);
  file.Flush();
  const std::string filler(100'000, 'x');
  std::size_t most = 0;
  for (int i = 1; i < 2000; ++i) {  // 200 MB
    file.Line("line {:02} {}", i, filler);
    most = std::max(most, file.buffer().size());
  }
  EXPECT_LT(most, 70'000'000u);
  EXPECT_LT(file.buffer().size(), 200'000u);
  EXPECT_NE(file.problem().find("a: the disk is too slow"), std::string::npos) << file.problem();
  EXPECT_TRUE(file.WriteWaiting());
  file.EndBackground();
  EXPECT_NE(file.Close(), "");
  EXPECT_EQ(
      LinesOf(scratch.Path("a")),
      (std::vector<std::string>{"line 00", "line 00: the disk is too slow, 64 MB wait for it"}));
}

TEST(TextFile, WhatComesAfterItsEndIsNotKept) {
  const ScratchFolder scratch;
  TextFile file(scratch.Path("a"));
  file.Line("first");
  file.EndHere();
  file.Line("second");
  file.Flush();
  file.Line("third");
  file.buffer().push_back('x');
  file.EndPiece();
  file.buffer().push_back('y');  // as a block of edges comes, which is no piece of its own
  file.Flush();
  EXPECT_EQ(file.Close(), "");
  EXPECT_EQ(LinesOf(scratch.Path("a")), std::vector<std::string>{"first"});
}

}  // namespace
}  // namespace drycrank::record
