// SPDX-License-Identifier: Apache-2.0
#include "io/disk_room.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

constexpr std::uint64_t kGB = 1'000'000'000;

TEST(DiskRoom, LowIsAQuarterOfAnHourOrAHundredMegabytes) {
  EXPECT_FALSE((DiskRoomFacts{0, 0, kGB}).IsLow());
  EXPECT_TRUE((DiskRoomFacts{0, 0, 99'999'999}).IsLow());
  EXPECT_FALSE((DiskRoomFacts{0, 4 * kGB, kGB}).IsLow());     // 15 minutes
  EXPECT_TRUE((DiskRoomFacts{0, 4 * kGB + 4, kGB}).IsLow());  // a little less
}

// 1.5 GB at 2 GB an hour: 0.75 h; 1 TB at 1 GB an hour: 1000 h are 41.7 days.
TEST(DiskRoom, InWords) {
  EXPECT_EQ((DiskRoomFacts{0, 2 * kGB, 3 * kGB / 2}).Words(),
            "1.5 GB left, at 2.0 GB an hour that is 45 minutes");
  EXPECT_EQ((DiskRoomFacts{0, kGB, 3 * kGB}).Words(),
            "3.0 GB left, at 1.0 GB an hour that is 3 hours");
  EXPECT_EQ((DiskRoomFacts{0, kGB, 1000 * kGB}).Words(),
            "1.0 TB left, at 1.0 GB an hour that is 42 days");
  EXPECT_EQ((DiskRoomFacts{0, 0, 999}).Words(), "999 B left");
  EXPECT_EQ(SizeInWords(250'000'000), "250 MB");
}

TEST(DiskRoom, CountsItsOwnFilesAlone) {
  const ScratchFolder scratch;
  std::filesystem::create_directory(scratch.Path("record"));
  std::ofstream(scratch.Path("record/events.csv")) << std::string(700, 'x');
  std::ofstream(scratch.Path("bus-000001.log")) << std::string(20, 'x');
  std::ofstream(scratch.Path("bus-000002.log")) << std::string(3, 'x');
  std::ofstream(scratch.Path("other.log")) << std::string(4000, 'x');
  const DiskRoom room({scratch.Path("record"), scratch.Path("bus.log")});
  EXPECT_EQ(room.facts().bytes, 723u);
  EXPECT_GT(room.facts().left_bytes, 0u);
  EXPECT_LT(room.facts().left_bytes, ~std::uint64_t{0});
}

}  // namespace
}  // namespace drycrank::io
