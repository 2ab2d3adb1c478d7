// SPDX-License-Identifier: Apache-2.0
#include "io/whole_file.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

namespace fs = std::filesystem;
using testing::ContainsRegex;
using testing::EndsWith;

class WholeFile : public testing::Test {
 protected:
  std::string In(const char* name) const { return folder_.Path(name); }
  static std::string Text(const std::string& path) {
    std::ifstream file(path);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  std::ptrdiff_t Files() const { return std::distance(fs::directory_iterator(In("")), {}); }

  const ScratchFolder folder_;
};

TEST_F(WholeFile, TakesTheOldOnesPlaceAndKeepsItsMode) {
  EXPECT_EQ(WriteWholeFile(In("a"), "old"), "");
  chmod(In("a").c_str(), 0640);
  EXPECT_EQ(WriteWholeFile(In("a"), "new"), "");
  EXPECT_EQ(Text(In("a")), "new");
  EXPECT_EQ(fs::status(In("a")).permissions(), fs::perms(0640));
  EXPECT_EQ(Files(), 1);
}

// No file can be made longer than 64 bytes, as when a disk is full.
TEST_F(WholeFile, WhatDoesNotFitLeavesTheOldOneWhole) {
  EXPECT_EQ(WriteWholeFile(In("a"), "old"), "");
  const auto fill_up = [&] {
    std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{64, 64};
    setrlimit(RLIMIT_FSIZE, &limit);
    const std::string why = WriteWholeFile(In("a"), std::string(1000, 'x'));
    _exit(why == "write " + In("a") + ": File too large" ? 0 : 1);
  };
  EXPECT_EXIT(fill_up(), testing::ExitedWithCode(0), "");
  EXPECT_EQ(Text(In("a")), "old");
  EXPECT_EQ(Files(), 1);
}

TEST_F(WholeFile, ALinkStaysAndWhatItLeadsToIsReplaced) {
  EXPECT_EQ(WriteWholeFile(In("a"), "old"), "");
  fs::create_symlink("a", In("link"));
  EXPECT_EQ(WriteWholeFile(In("link"), "new"), "");
  EXPECT_TRUE(fs::is_symlink(In("link")));
  EXPECT_EQ(Text(In("a")), "new");
}

TEST_F(WholeFile, APipeIsWrittenStraight) {
  ASSERT_EQ(mkfifo(In("pipe").c_str(), 0600), 0);
  const int ours = open(In("pipe").c_str(), O_RDWR);
  EXPECT_EQ(WriteWholeFile(In("pipe"), "text"), "");
  char got[8] = {};
  EXPECT_EQ(read(ours, got, sizeof(got)), 4);
  EXPECT_STREQ(got, "text");
  EXPECT_TRUE(fs::is_fifo(In("pipe")));
  close(ours);
}

TEST_F(WholeFile, WhatCannotBeWrittenIsSaid) {
  EXPECT_THAT(WriteWholeFile(In("no/where"), "x"), EndsWith("no/where: No such file or directory"));
  EXPECT_THAT(WriteWholeFile(In(""), "x"), EndsWith(": Is a directory"));
}

TEST_F(WholeFile, WhatIsMadeInPiecesTakesItsPlaceAtTheEnd) {
  std::ofstream(In("a.log")) << "old";
  {
    InMaking making = InMaking::File(In("a.log"));
    EXPECT_THAT(making.made(), ContainsRegex("/a\\.being_made-[0-9a-f]{8}\\.log$"));
    std::ofstream(making.made()) << "half";
    EXPECT_EQ(making.OfPlace("write " + making.made() + ": why"), "write " + In("a.log") + ": why");
  }
  EXPECT_EQ(Text(In("a.log")), "old");
  EXPECT_EQ(Files(), 1);
  InMaking making = InMaking::File(In("a.log"));
  std::ofstream(making.made()) << "new";
  EXPECT_EQ(making.PutInPlace(), "");
  EXPECT_EQ(Text(In("a.log")), "new");
  EXPECT_EQ(Files(), 1);
}

TEST_F(WholeFile, SeveralFilesTakeTheirPlacesAtTheEnd) {
  std::ofstream(In("a")) << "old";
  {
    const InMaking making = InMaking::FilesIn(In(""));
    fs::create_directory(making.made());
    std::ofstream(making.made() + "/a") << "half";
  }
  EXPECT_EQ(Text(In("a")), "old");
  EXPECT_EQ(Files(), 1);
  InMaking making = InMaking::FilesIn(In(""));
  fs::create_directory(making.made());
  std::ofstream(making.made() + "/a") << "new";
  std::ofstream(making.made() + "/b") << "new too";
  EXPECT_EQ(making.PutInPlace(), "");
  EXPECT_EQ(Text(In("a")), "new");
  EXPECT_EQ(Text(In("b")), "new too");
}

}  // namespace
}  // namespace drycrank::io
