// SPDX-License-Identifier: Apache-2.0
//
// Times of recordings: one rule for all formats (recording.h).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "bus/steady_time.h"
#include "tests/bus/recorded.h"

namespace drycrank::bus {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

// Little-endian unless `big`, microseconds, link type 227 (LINKTYPE_CAN_SOCKETCAN): libpcap's file format as its
// pcap-savefile(5) has it. Frames without data.
std::string AsPcap(const std::vector<TimeNs>& times_ms, bool big = false) {
  std::string bytes;
  const auto put = [&](std::uint32_t value, int size) {
    for (int i = 0; i < size; ++i) {
      bytes += static_cast<char>(value >> (8 * (big ? size - 1 - i : i)));
    }
  };
  put(0xA1B2C3D4, 4);
  put(2, 2);
  put(4, 2);
  for (const std::uint32_t word : {0u, 0u, 65535u, 227u}) put(word, 4);
  for (const TimeNs t_ms : times_ms) {
    put(static_cast<std::uint32_t>(t_ms / 1000), 4);
    put(static_cast<std::uint32_t>(t_ms % 1000 * 1000), 4);
    put(8, 4);
    put(8, 4);
    bytes += std::string("\0\0\1\x23\0\0\0\0", 8);
  }
  return bytes;
}

std::string Recording(RecordingFormat format, const std::vector<TimeNs>& times_ms) {
  if (format == RecordingFormat::kPcap) return AsPcap(times_ms);
  Read given{{}, {"can"}, {}, 0};
  for (const TimeNs t_ms : times_ms) {
    RecordedFrame& frame = given.frames.emplace_back();
    frame.t_ns = t_ms * kNsPerMs;
    frame.frame.id = 0x123;
  }
  return format == RecordingFormat::kPcapng ? AsPcapng(given) : AsLog(given);
}

class RecordingTime : public testing::TestWithParam<RecordingFormat> {
 protected:
  void Write(const std::vector<TimeNs>& times_ms) {
    stream_ = std::istringstream(Recording(GetParam(), times_ms));
  }
  std::vector<TimeNs> ReadMs(RecordingReader& reader) {
    std::vector<TimeNs> times_ms;
    for (RecordedFrame frame; reader.Next(frame);) times_ms.push_back(frame.t_ns / kNsPerMs);
    return times_ms;
  }
  std::istringstream stream_;
};

TEST_P(RecordingTime, ThreeRoundsFromItsBeginAreThreeTimesTheSame) {
  Write({1000, 1010, 1020});
  RecordingReader reader(stream_);
  const auto begin = reader.place();
  for (int round = 0; round < 3; ++round) {
    ASSERT_TRUE(reader.JumpTo(begin));
    EXPECT_THAT(ReadMs(reader), ElementsAre(1000, 1010, 1020));
  }
  EXPECT_EQ(reader.damaged(), 0u);
}

TEST_P(RecordingTime, OneThatIsAstrayIsLeftOutAndNamed) {
  for (const TimeNs astray : {1'001'010, 3}) {  // after, and before
    Write({10'000, 10'010, astray, 10'030, 10'040});
    RecordingReader reader(stream_);
    EXPECT_THAT(ReadMs(reader), ElementsAre(10'000, 10'010, 10'030, 10'040));
    ASSERT_EQ(reader.damaged(), 1u);
    EXPECT_THAT(reader.damage()[0].what, HasSubstr("s off those around it"));
    // The place is its own: two frames before it, two behind.
    Read head = ReadBytes(stream_.str().substr(0, reader.damage()[0].offset));
    EXPECT_EQ(head.frames.size(), 2u);
  }
}

TEST_P(RecordingTime, TheFirstMayBeAstrayToo) {
  Write({90'000, 10'010, 10'020});
  RecordingReader reader(stream_);
  EXPECT_THAT(ReadMs(reader), ElementsAre(10'010, 10'020));
  EXPECT_EQ(reader.damaged(), 1u);
}

TEST_P(RecordingTime, PausesAClockThatWasSetAndALittleDisorderStay) {
  for (const std::vector<TimeNs>& times_ms : {std::vector<TimeNs>{1000, 9'000'000, 9'000'010},
                                              {9'000'000, 9'000'010, 1000, 1010},
                                              {1000, 1900, 1100, 1200}}) {
    Write(times_ms);
    RecordingReader reader(stream_);
    EXPECT_EQ(ReadMs(reader), times_ms);
    EXPECT_EQ(reader.damaged(), 0u);
  }
}

// Astray is seen from the frames around it, of which some are not read after a jump.
TEST_P(RecordingTime, AJumpGivesTheFrameThatStoodThere) {
  for (const std::vector<TimeNs>& times_ms :
       {std::vector<TimeNs>{8000, 6900, 7000, 7010}, {9000, 1000, 1010}, {10, 9000, 1000, 20}}) {
    Write(times_ms);
    RecordingReader reader(stream_);
    std::vector<std::pair<RecordingReader::Place, RecordedFrame>> given;
    for (RecordedFrame frame; reader.Next(frame);) given.emplace_back(reader.frame_place(), frame);
    ASSERT_GE(given.size(), 2u);
    for (const auto& [place, wanted] : given) {
      ASSERT_TRUE(reader.JumpTo(place));
      RecordedFrame frame;
      ASSERT_TRUE(reader.Next(frame));
      EXPECT_EQ(frame.t_ns, wanted.t_ns);
    }
  }
}

// Whatever the order, what is given is a recording without damage: of 50 shuffled ones (std::mt19937, whose
// numbers the C++ standard fixes) none has any when it is read again.
TEST_P(RecordingTime, WhatWasGivenIsWholeWhenItIsReadAgain) {
  std::mt19937 random(1);
  std::uint64_t damaged = 0;
  for (int trial = 0; trial < 50; ++trial) {
    std::vector<TimeNs> times_ms;
    for (int i = 0; i < 40; ++i) times_ms.push_back(static_cast<TimeNs>(random() % 6000));
    Write(times_ms);
    RecordingReader reader(stream_);
    const std::vector<TimeNs> given = ReadMs(reader);
    damaged += reader.damaged();
    Write(given);
    RecordingReader again(stream_);
    EXPECT_EQ(ReadMs(again), given);
    EXPECT_EQ(again.damaged(), 0u);
  }
  EXPECT_GT(damaged, 50u) << "else nothing was left out, and this shows nothing";
}

TEST(SteadyTime, NeverGoesBackAndLeavesNoFrameOut) {
  SteadyTime steady;
  std::vector<TimeNs> times_ms;
  // A little early: at once. Set back by 8 s: on from there.
  for (const TimeNs t_ms : {9000, 9010, 9005, 9020, 1000, 1010}) {
    times_ms.push_back(steady.Of(t_ms * kNsPerMs) / kNsPerMs);
  }
  EXPECT_THAT(times_ms, ElementsAre(0, 10, 10, 20, 20, 30));
  EXPECT_EQ(steady.Words(),
            "the time goes back 2 times, first at frame 3 by 0.005 s; no frame is left out for it");
  EXPECT_EQ(SteadyTime().Words(), "");
}

// 100 packets of 24 bytes behind the file's head of 24; four bytes are lost within the 41st.
TEST(PcapDamage, AfterLostBytesTheNextPacketIsFound) {
  std::vector<TimeNs> times_ms;
  for (TimeNs i = 0; i < 100; ++i) times_ms.push_back(1000 + 10 * i);
  // Of time, size, identifier. In a big-endian file an identifier may look like a size.
  for (const std::size_t within : {3u, 10u, 18u, 103u, 110u, 118u}) {
    std::string bytes = AsPcap(times_ms, within > 100);
    bytes.erase(24 + 40 * 24 + within % 100, 4);
    const Read read = ReadBytes(bytes);
    EXPECT_EQ(read.frames.size(), 99u) << within;
    ASSERT_GE(read.damage.size(), 1u) << within;
    EXPECT_EQ(read.damage[0].offset, 24u + 40 * 24) << within;
    EXPECT_EQ(read.frames[40].t_ns, 1410 * kNsPerMs) << within;
  }
}

TEST(PcapDamage, ASizeThatIsWrongCostsOnePacket) {
  std::vector<TimeNs> times_ms;
  for (TimeNs i = 0; i < 100; ++i) times_ms.push_back(1000 + 10 * i);
  for (const unsigned bit : {4u, 12u, 20u, 30u}) {
    std::string bytes = AsPcap(times_ms);
    bytes[24 + 40 * 24 + 8 + bit / 8] ^= static_cast<char>(1u << bit % 8);
    const Read read = ReadBytes(bytes);
    EXPECT_GE(read.frames.size(), 98u) << bit;
    EXPECT_GE(read.damage.size(), 1u) << bit;
  }
}

// Packets of 32 bytes, eight of data in each: a size with one bit more may end where another packet does, or at the end.
TEST(PcapDamage, NoBitOfASizeLosesFramesWithoutAWord) {
  constexpr std::size_t kFrames = 300, kHead = 24, kPacket = 32;
  const std::string one = AsPcap({1000});
  std::string whole = one.substr(0, kHead);
  for (std::size_t i = 0; i < kFrames; ++i) {
    std::string packet = AsPcap({static_cast<TimeNs>(1000 + 10 * i)}).substr(kHead);
    packet[8] = packet[12] = 16;  // captured, and on the bus
    packet[20] = 8;
    whole += packet + "abcdefgh";
  }
  for (const std::size_t at : {std::size_t{0}, std::size_t{7}, std::size_t{150}, kFrames - 4}) {
    for (std::size_t bit = 0; bit < 32; ++bit) {
      std::string flipped = whole;
      flipped[kHead + kPacket * at + 8 + bit / 8] ^= static_cast<char>(1 << bit % 8);
      std::istringstream stream(flipped);
      RecordingReader reader(stream);
      std::size_t frames = 0;
      for (RecordedFrame frame; reader.Next(frame);) ++frames;
      EXPECT_GE(frames, kFrames - 1) << at << " bit " << bit;
      EXPECT_TRUE(frames == kFrames || reader.damaged() > 0) << at << " bit " << bit;
    }
  }
}

// Damage that a loop meets in each round is one damage.
TEST_P(RecordingTime, DamageIsCountedOnceInALoop) {
  Write({10'000, 10'010, 1'000'000, 10'030});
  RecordingReader reader(stream_);
  const auto begin = reader.place();
  for (int round = 0; round < 3; ++round) {
    ASSERT_TRUE(reader.JumpTo(begin));
    EXPECT_EQ(ReadMs(reader).size(), 3u);
  }
  EXPECT_EQ(reader.damaged(), 1u);
}

std::string WordOf(const testing::TestParamInfo<RecordingFormat>& format) {
  if (format.param == RecordingFormat::kPcap) return "pcap";
  return format.param == RecordingFormat::kPcapng ? "pcapng" : "log";
}

INSTANTIATE_TEST_SUITE_P(Formats, RecordingTime,
                         testing::Values(RecordingFormat::kCandumpLog, RecordingFormat::kPcapng,
                                         RecordingFormat::kPcap),
                         WordOf);

// `date -u -d 2223-01-01 +%s`: 7983964800. What one format reads the other one writes and reads.
TEST(RecordingRange, TheYear2223GoesFromLogToPcapngAndBack) {
  const std::string log = "(7983964800.000001) can0 123#01\n(7983964800.500000) can0 123#02\n";
  const Read again = ReadBytes(AsPcapng(ReadBytes(log)));
  EXPECT_TRUE(again.damage.empty());
  EXPECT_EQ(AsLog(again), log);
}

TEST(RecordingRange, EndsAtOnePlaceForBoth) {
  const std::string last = fmt::format("({}.000000) can0 123#01\n", kLastRecordedNs / kNsPerS);
  const Read log = ReadBytes(last);
  ASSERT_EQ(log.frames.size(), 1u);
  EXPECT_EQ(ReadBytes(AsPcapng(log)).frames.size(), 1u);
  Read beyond = log;
  beyond.frames[0].t_ns += kNsPerUs;
  EXPECT_THAT(ReadBytes(AsPcapng(beyond)).damage.at(0).what, HasSubstr("beyond the year 2262"));
  EXPECT_EQ(ReadBytes(AsLog(beyond)).frames.size(), 0u);
}

}  // namespace
}  // namespace drycrank::bus
