// SPDX-License-Identifier: Apache-2.0
#include "io/folder_lock.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <fstream>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

using testing::HasSubstr;

TEST(FolderLock, HasOneOwnerWhoIsNamed) {
  const ScratchFolder folder;
  const std::string path = folder.Path("out");
  {
    FolderLock first, second;
    ASSERT_EQ(first.Take(path), "");
    EXPECT_THAT(second.Take(path),
                HasSubstr(fmt::format("{} is in use by process {} (io_test)", path, ::getpid())));
  }
  FolderLock again;
  EXPECT_EQ(again.Take(path), "");
}

TEST(FolderLock, LeavesNoFolderThatItMadeForNothing) {
  const ScratchFolder folder;
  const std::string path = folder.Path("out");
  {
    FolderLock lock;
    ASSERT_EQ(lock.Take(path), "");
  }
  EXPECT_FALSE(std::filesystem::exists(path));
  {
    FolderLock lock;
    ASSERT_EQ(lock.Take(path), "");
    std::ofstream(path + "/record.json") << "{}";
  }
  EXPECT_TRUE(std::filesystem::exists(path + "/record.json"));
}

TEST(FolderLock, KeepsAnEmptyFolderOfSomebodyElse) {
  const ScratchFolder folder;
  {
    FolderLock lock;
    ASSERT_EQ(lock.Take(folder.path().string()), "");
  }
  EXPECT_TRUE(std::filesystem::exists(folder.path()));
}

TEST(FolderLock, SaysWhatFailed) {
  FolderLock lock;
  EXPECT_THAT(lock.Take("/proc/nowhere"), HasSubstr("create folder /proc/nowhere: "));
}

}  // namespace
}  // namespace drycrank::io
