// SPDX-License-Identifier: Apache-2.0
#include "io/recording_files.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <fstream>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {
namespace fs = std::filesystem;

using testing::ElementsAre;
using testing::HasSubstr;

class RecordingFilesTest : public testing::Test {
 protected:
  RecordingFilesTest() { options_.path = folder_.Path("drive.pcapng"); }

  std::unique_ptr<RecordingFiles> Open() {
    std::unique_ptr<RecordingFiles> files;
    EXPECT_EQ(RecordingFiles::Open(options_, files), "");
    files->AddInterface("car");
    return files;
  }
  static void Write(RecordingFiles& files, int from, int to) {
    for (int i = from; i < to; ++i) {
      bus::RecordedFrame frame;
      frame.t_ns = i * kNsPerMs;
      frame.frame.id = static_cast<std::uint32_t>(i);
      files.Write(frame);
    }
  }
  std::vector<std::uint32_t> Read(const fs::path& path) {
    std::ifstream stream(path, std::ios::binary);
    bus::RecordingReader reader(stream);
    std::vector<std::uint32_t> ids;
    for (bus::RecordedFrame frame; reader.Next(frame);) ids.push_back(frame.frame.id);
    EXPECT_EQ(reader.damaged(), 0u);
    return ids;
  }
  std::vector<std::string> Names() {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator(folder_.path())) {
      names.push_back(entry.path().filename().string());
    }
    std::sort(names.begin(), names.end());
    return names;
  }

  ScratchFolder folder_;
  RecordingOptions options_;
};

TEST_F(RecordingFilesTest, WhatWasFlushedCanBeReadWhileItGoesOn) {
  const auto files = Open();
  Write(*files, 0, 3);
  files->Flush();
  EXPECT_THAT(Read(options_.path), ElementsAre(0, 1, 2));
  Write(*files, 3, 5);
  EXPECT_EQ(files->Close(), "");
  EXPECT_THAT(Read(options_.path), ElementsAre(0, 1, 2, 3, 4));
  EXPECT_EQ(files->written(), 5u);
}

TEST_F(RecordingFilesTest, NewFilesBeginAtTheTimeAndTheOldestGo) {
  options_.max_ns = 4 * kNsPerMs;
  options_.max_files = 2;
  const auto files = Open();
  Write(*files, 0, 10);
  EXPECT_EQ(files->Close(), "");
  EXPECT_THAT(Names(), ElementsAre("drive-000002.pcapng", "drive-000003.pcapng"));
  EXPECT_THAT(Read(folder_.path() / "drive-000002.pcapng"), ElementsAre(4, 5, 6, 7));
  EXPECT_THAT(Read(folder_.path() / "drive-000003.pcapng"), ElementsAre(8, 9));
}

TEST_F(RecordingFilesTest, NewFilesBeginAtTheSize) {
  options_.path = folder_.Path("drive.log");
  options_.max_bytes = 60;  // a line "(0000000000.000000) car 000#" has 29 bytes with its end
  const auto files = Open();
  Write(*files, 0, 7);
  EXPECT_EQ(files->Close(), "");
  EXPECT_THAT(Read(folder_.path() / "drive-000001.log"), ElementsAre(0, 1, 2));
  EXPECT_THAT(Read(folder_.path() / "drive-000003.log"), ElementsAre(6));
}

TEST_F(RecordingFilesTest, AFileThatIsThereIsNotReplacedUnasked) {
  Open();
  std::unique_ptr<RecordingFiles> files;
  EXPECT_THAT(RecordingFiles::Open(options_, files), HasSubstr("--overwrite"));
  EXPECT_EQ(files, nullptr);
  options_.overwrite = true;
  EXPECT_EQ(RecordingFiles::Open(options_, files), "");
}

TEST_F(RecordingFilesTest, AnEndingWithoutFormatIsRefused) {
  options_.path = folder_.Path("drive.txt");
  std::unique_ptr<RecordingFiles> files;
  EXPECT_THAT(RecordingFiles::Open(options_, files), HasSubstr("write .log"));
  options_.path = "/proc/no/drive.log";
  EXPECT_THAT(RecordingFiles::Open(options_, files), HasSubstr("create /proc/no/drive.log"));
}

TEST_F(RecordingFilesTest, AFullDiskIsToldAndLostFramesAreCounted) {
  options_.path = folder_.Path("drive.log");
  fs::create_symlink("/dev/full", options_.path);
  options_.overwrite = true;
  const auto files = Open();
  Write(*files, 0, 3);
  files->Flush();
  Write(*files, 3, 5);
  EXPECT_EQ(files->written(), 0u);
  EXPECT_EQ(files->lost(), 5u);
  EXPECT_THAT(files->Close(), testing::AllOf(HasSubstr("No space left"), HasSubstr("5 frames")));
}

// No file can be made longer than 1000 bytes, as when a disk is full: 31 bytes a line, twice flushed.
TEST_F(RecordingFilesTest, OnAFullDiskItEndsWithAWholeFrameAndCountsThose) {
  const auto fill_up = [&](const char* name) {
    options_.path = folder_.Path(name);
    std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{1000, 1000};
    setrlimit(RLIMIT_FSIZE, &limit);
    const auto files = Open();
    Write(*files, 0, 10);
    files->Flush();
    Write(*files, 10, 100);
    const bool said = !files->Close().empty();
    const std::size_t there = Read(options_.path).size();
    _exit(said && there > 10 && there == files->written() && files->lost() == 100 - there ? 0 : 1);
  };
  EXPECT_EXIT(fill_up("full.log"), testing::ExitedWithCode(0), "");
  EXPECT_EXIT(fill_up("full.pcapng"), testing::ExitedWithCode(0), "");
}

TEST_F(RecordingFilesTest, ANameWithBlanksKeepsALogReadable) {
  options_.path = folder_.Path("drive.log");
  std::unique_ptr<RecordingFiles> files;
  ASSERT_EQ(RecordingFiles::Open(options_, files), "");
  files->AddInterface("left front");
  Write(*files, 0, 3);
  ASSERT_EQ(files->Close(), "");
  EXPECT_THAT(Read(options_.path), ElementsAre(0, 1, 2));
}

TEST_F(RecordingFilesTest, AnotherWriterIsRefusedAndCutsNothing) {
  const auto first = Open();
  Write(*first, 0, 3);
  first->Flush();
  options_.overwrite = true;
  std::unique_ptr<RecordingFiles> second;
  EXPECT_THAT(RecordingFiles::Open(options_, second), HasSubstr("recorded by another process"));
  EXPECT_THAT(Read(options_.path), ElementsAre(0, 1, 2));
}

TEST_F(RecordingFilesTest, ADeviceIsNobodysAlone) {
  options_.path = folder_.Path("nowhere.log");
  fs::create_symlink("/dev/null", options_.path);
  options_.overwrite = true;
  const auto first = Open();
  const auto second = Open();
  Write(*second, 0, 3);
  EXPECT_EQ(second->Close(), "");
  EXPECT_EQ(RecordingFiles::WhyNotReplaced(options_.path), "");
}

TEST_F(RecordingFilesTest, AFileThatIsTakenAwayIsTold) {
  const auto files = Open();
  Write(*files, 0, 3);
  fs::remove(options_.path);
  files->Flush();
  EXPECT_THAT(files->problem(), HasSubstr("was removed while it was being written"));
  EXPECT_EQ(files->lost(), 3u);
}

}  // namespace
}  // namespace drycrank::io
