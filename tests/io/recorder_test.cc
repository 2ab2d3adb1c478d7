// SPDX-License-Identifier: Apache-2.0
#include "io/recorder.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

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
  constexpr int kFrames = 4 * static_cast<int>(Recorder::kBufferFrames);
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

}  // namespace
}  // namespace drycrank::io
