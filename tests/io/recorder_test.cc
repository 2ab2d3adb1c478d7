// SPDX-License-Identifier: Apache-2.0
#include "io/recorder.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <filesystem>
#include <fstream>
#include <string>
#include <thread>
#include <tuple>
#include <vector>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {
namespace fs = std::filesystem;

std::unique_ptr<RecordingFiles> Open(const std::string& path) {
  RecordingOptions options;
  options.path = path;
  options.overwrite = true;
  std::unique_ptr<RecordingFiles> files;
  EXPECT_EQ(RecordingFiles::Open(options, files), "");
  files->AddInterface("car");
  return files;
}

TEST(Recorder, WhenToldToWaitLosesNothingAndKeepsTheOrder) {
  const ScratchFolder folder;
  const std::string path = folder.Path("waits.pcapng");
  constexpr int kFrames = 4 * static_cast<int>(Recorder::kRingFrames);
  Recorder recorder(Open(path), Recorder::WhenFull::kWait);
  bus::RecordedFrame frame;
  for (int i = 0; i < kFrames; ++i) {
    frame.t_ns = i;
    recorder.Take(frame);
  }
  EXPECT_EQ(recorder.Stop(), "");
  EXPECT_EQ(recorder.written(), static_cast<std::uint64_t>(kFrames));
  std::ifstream stream(path, std::ios::binary);
  bus::RecordingReader reader(stream);
  for (int i = 0; i < kFrames; ++i) {
    ASSERT_TRUE(reader.Next(frame));
    ASSERT_EQ(frame.t_ns, i);
  }
  EXPECT_FALSE(reader.Next(frame));
}

TEST(Recorder, AFullDiskIsToldAtTheEnd) {
  const ScratchFolder folder;
  const std::string path = folder.Path("full.log");
  fs::create_symlink("/dev/full", path);
  Recorder recorder(Open(path), Recorder::WhenFull::kLeaveOut);
  recorder.Take({});
  EXPECT_THAT(recorder.Stop(), testing::HasSubstr("No space left"));
}

// A pipe that nobody reads is a disk that does not answer (pipe(7): it holds 64 KiB).
TEST(Recorder, WhatADiskThatStandsStillCannotTakeIsCounted) {
  const ScratchFolder folder;
  const std::string path = folder.Path("still.log");
  ASSERT_EQ(mkfifo(path.c_str(), 0600), 0);
  const int reader = open(path.c_str(), O_RDWR);  // else opening it to write would wait
  ASSERT_GE(reader, 0);
  constexpr std::uint64_t kFrames = 3 * Recorder::kRingFrames;
  Recorder recorder(Open(path), Recorder::WhenFull::kLeaveOut);
  for (std::uint64_t i = 0; i < kFrames; ++i) recorder.Take({});
  std::atomic<bool> stopped = false;
  std::thread empty([&] {
    std::vector<char> bytes(1 << 16);
    pollfd polled{reader, POLLIN, 0};
    while (!stopped || poll(&polled, 1, 0) > 0) {
      if (poll(&polled, 1, 1) > 0) std::ignore = read(reader, bytes.data(), bytes.size());
    }
  });
  const std::string problem = recorder.Stop();
  stopped = true;
  empty.join();
  close(reader);
  EXPECT_GE(recorder.written(), Recorder::kRingFrames);
  EXPECT_LT(recorder.written(), kFrames);
  EXPECT_THAT(problem, testing::HasSubstr(std::to_string(kFrames - recorder.written()) +
                                          " frames were not recorded"));
}

}  // namespace
}  // namespace drycrank::io
