// SPDX-License-Identifier: Apache-2.0
#include "record/text_file.h"

#include <gtest/gtest.h>

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

}  // namespace
}  // namespace drycrank::record
