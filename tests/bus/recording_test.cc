// SPDX-License-Identifier: Apache-2.0
#include "bus/recording.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bus/recorded.h"
#include "tests/support/recording_index.h"

namespace drycrank::bus {
namespace {

using testing::HasSubstr;

TEST(Recording, FindsItsFormat) {
  const auto format = [](const std::string& bytes) {
    std::istringstream stream(bytes);
    return RecordingReader(stream).format();
  };
  EXPECT_EQ(format(kEveryKind), RecordingFormat::kCandumpLog);
  EXPECT_EQ(format(AsPcapng(ReadBytes(kEveryKind))), RecordingFormat::kPcapng);
  EXPECT_EQ(format(std::string("\xD4\xC3\xB2\xA1", 4)), RecordingFormat::kPcap);
  EXPECT_EQ(format("kind: bench\n"), std::nullopt);
}

TEST(Recording, WhatIsNoneSaysSo) {
  const Read read = ReadBytes("PK\x03\x04 something else");
  ASSERT_EQ(read.damage.size(), 1u);
  EXPECT_EQ(read.damage[0].offset, 0u);
  EXPECT_THAT(read.damage[0].what, HasSubstr("not a candump log"));
  EXPECT_THAT(ReadBytes("").damage.at(0).what, HasSubstr("empty"));
}

// 100,000 frames, one per millisecond.
class LongRecording : public testing::TestWithParam<RecordingFormat> {
 protected:
  LongRecording() {
    Read given{{}, {"car"}, {}, 0};
    for (int i = 0; i < 100'000; ++i) {
      RecordedFrame frame;
      frame.t_ns = i * kNsPerMs;
      frame.frame.id = static_cast<std::uint32_t>(i % 0x7FF);
      given.frames.push_back(frame);
    }
    stream_.str(GetParam() == RecordingFormat::kPcapng ? AsPcapng(given) : AsLog(given));
  }
  std::istringstream stream_;
};

TEST_P(LongRecording, IsJumpedIntoByTime) {
  RecordingReader reader(stream_);
  const RecordingIndex index(reader);
  EXPECT_EQ(index.frames(), 100'000u);
  EXPECT_EQ(index.first_ns(), 0);
  EXPECT_EQ(index.last_ns(), 99'999 * kNsPerMs);
  for (const TimeNs t_ns : {99'000 * kNsPerMs, TimeNs{0}, 50'000 * kNsPerMs, 50'001 * kNsPerMs}) {
    ASSERT_TRUE(reader.JumpTo(index.Before(t_ns)));
    RecordedFrame frame;
    int passed = 0;
    do {
      ASSERT_TRUE(reader.Next(frame));
      ++passed;
    } while (frame.t_ns < t_ns);
    EXPECT_EQ(frame.t_ns, t_ns);
    EXPECT_LE(passed, 257);
  }
  EXPECT_EQ(reader.damaged(), 0u);
}

INSTANTIATE_TEST_SUITE_P(Formats, LongRecording,
                         testing::Values(RecordingFormat::kCandumpLog, RecordingFormat::kPcapng),
                         [](const auto& format) {
                           return format.param == RecordingFormat::kPcapng ? "pcapng" : "log";
                         });

TEST(Recording, JumpingBackOverSectionsAndInterfacesKeepsThem) {
  const std::string one = AsPcapng(ReadBytes(kEveryKind));
  std::istringstream stream(one + one);
  RecordingReader reader(stream);
  const auto begin = reader.place();
  for (int round = 0; round < 600; ++round) {  // more than sections or interfaces are allowed
    ASSERT_TRUE(reader.JumpTo(begin));
    ASSERT_EQ(ReadAll(reader).size(), 20u) << round;
  }
  EXPECT_EQ(reader.damaged(), 0u);
  EXPECT_EQ(reader.interfaces().size(), 2u);
}

}  // namespace
}  // namespace drycrank::bus
