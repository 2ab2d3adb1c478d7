// SPDX-License-Identifier: Apache-2.0
#include "core/core_node.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <deque>
#include <map>
#include <vector>

#include "core/board.h"

namespace drycrank::core {
namespace {

// A board of the test's own: its time stands until it is moved.
struct Board {
  int64_t now = 0;
  std::deque<uint8_t> in;
  FrameReader reader;
  std::vector<CoreFrame> sent;
  std::vector<Pulse> set;
  std::vector<uint32_t> safe;
};
Board* g_board = nullptr;

}  // namespace

int64_t BoardNow() { return g_board->now; }
void BoardSet(int32_t channel, bool level, int64_t at) {
  g_board->set.push_back({at, channel, level});
}
void BoardSafe(uint32_t levels) {
  g_board->safe.push_back(levels);
  g_board->set.clear();
}
int BoardRead() {
  if (g_board->in.empty()) return -1;
  const int byte = g_board->in.front();
  g_board->in.pop_front();
  return byte;
}
void BoardWrite(uint8_t byte) {
  CoreFrame frame;
  if (g_board->reader.Take(byte, frame)) g_board->sent.push_back(frame);
}

namespace {

constexpr uint32_t kDone = 0, kNotNow = 0x08000022, kOutOfRange = 0x06090030;
constexpr int64_t kMs = 1'000'000;

class CoreNodeTest : public testing::Test {
 protected:
  CoreNodeTest() { g_board = &board_; }
  ~CoreNodeTest() override { g_board = nullptr; }

  void Come(uint16_t id, std::vector<uint8_t> data) {
    CoreFrame frame;
    frame.id = id;
    frame.length = static_cast<uint8_t>(data.size());
    std::copy(data.begin(), data.end(), frame.data);
    uint8_t bytes[kMostLine];
    const int32_t count = Line(frame, bytes);
    board_.in.insert(board_.in.end(), bytes, bytes + count);
  }
  // What it aborts with; 0: done.
  uint32_t Write(int index, int sub, uint32_t value) { return Ask(0x23, index, sub, value); }
  uint32_t Read(int index, int sub) { return Ask(0x40, index, sub, 0); }
  uint32_t Ask(uint8_t command, int index, int sub, uint32_t value) {
    Come(0x605, {command, Byte(index), Byte(index >> 8), Byte(sub), Byte(value), Byte(value >> 8),
                 Byte(value >> 16), Byte(value >> 24)});
    node_.Run();
    const uint8_t* data = board_.sent.back().data + 4;
    return data[0] | data[1] << 8 | data[2] << 16 | static_cast<uint32_t>(data[3]) << 24;
  }
  template <class T>
  static uint8_t Byte(T value) {
    return static_cast<uint8_t>(value & 0xFF);
  }
  void Beat() { Come(0x701, {5}); }
  // The PC beats every 50 ms; the node runs each 0.1 ms.
  void Pass(int64_t ms, bool beats = true) {
    for (int64_t i = 0; i < 10 * ms; ++i) {
      board_.now += kMs / 10;
      if (beats && i % 500 == 0) Beat();
      node_.Run();
    }
  }
  void Armed() {
    node_.Run();
    ASSERT_EQ(Write(0x1016, 1, 1 << 16 | 200), kDone);
    Beat();
    ASSERT_EQ(Write(0x2010, 1, 4), kDone);
    ASSERT_EQ(Write(0x2000, 1, kArmWord), kDone);
    ASSERT_EQ(Write(0x2001, 1, 60'000), kDone);
  }

  Board board_;
  CoreNode node_{5};
};

TEST_F(CoreNodeTest, FromPowerOnEachPinIsAtItsSafeLevel) {
  node_.Run();
  EXPECT_THAT(board_.safe, testing::ElementsAre(0u));
  EXPECT_EQ(Write(0x2001, 1, 60'000), kNotNow);
  EXPECT_TRUE(board_.set.empty());
}

TEST_F(CoreNodeTest, ItIsArmedOnlyWhileThePcIsHeard) {
  node_.Run();
  EXPECT_EQ(Write(0x2000, 1, kArmWord), kNotNow);
  EXPECT_EQ(Write(0x1016, 1, 1 << 16 | 200), kDone);
  EXPECT_EQ(Write(0x2000, 1, kArmWord), kNotNow);
  Beat();
  EXPECT_EQ(Write(0x2000, 1, 42), kOutOfRange);
  EXPECT_EQ(Write(0x2000, 1, kArmWord), kDone);
  EXPECT_EQ(Read(0x2000, 2), 1u);
}

TEST_F(CoreNodeTest, EdgesAreGivenAheadOfTheirTime) {
  Armed();
  board_.set.clear();
  for (int i = 0; i < 20000; ++i) {
    const int64_t before = board_.now;
    board_.now += kMs / 10;
    if (i % 500 == 0) Beat();
    const std::size_t were = board_.set.size();
    node_.Run();
    for (std::size_t k = were; k < board_.set.size(); ++k) {
      EXPECT_GE(board_.set[k].t, before + kAhead) << "ahead by what was given last";
      EXPECT_LT(board_.set[k].t, board_.now + kAhead);
    }
  }
  EXPECT_EQ(board_.set.size(), 15u);  // each 125 ms until 2 s, the first one before
}

TEST_F(CoreNodeTest, ASilentPcEndsItWithinItsTime) {
  Armed();
  Write(0x2010, 15, 1);
  Pass(1000);
  EXPECT_EQ(board_.safe.size(), 1u);
  const int64_t last = board_.now;
  Pass(150, false);
  EXPECT_EQ(board_.safe.size(), 1u);
  while (board_.safe.size() == 1 && board_.now < last + 1000 * kMs) Pass(1, false);
  EXPECT_LE(board_.now - last, 201 * kMs);
  EXPECT_EQ(board_.safe.back(), 1u);
  Pass(1000);  // heard again: it stays as it is until it is armed anew
  EXPECT_TRUE(board_.set.empty());
  EXPECT_EQ(Read(0x2000, 2), 2u);
  EXPECT_EQ(Write(0x2000, 1, kArmWord), kDone);
  EXPECT_EQ(Read(0x2001, 3), 0u);
}

TEST_F(CoreNodeTest, ADisarmedNodeForgetsWhatWasGiven) {
  Armed();
  Pass(100);
  EXPECT_EQ(Write(0x2000, 1, 0), kDone);
  EXPECT_EQ(board_.safe.size(), 2u);
  Pass(500);
  EXPECT_TRUE(board_.set.empty());
}

TEST_F(CoreNodeTest, ValuesOutOfRangeChangeNothing) {
  Armed();
  EXPECT_EQ(Write(0x2001, 1, 20'000'001), kOutOfRange);
  EXPECT_EQ(Write(0x2010, 1, 129), kOutOfRange);
  EXPECT_EQ(Write(0x2010, 2, 4), kDone);
  EXPECT_EQ(Write(0x2010, 1, 4), kOutOfRange);  // no tooth left
  EXPECT_EQ(Write(0x1016, 1, 1 << 16 | 9), kOutOfRange);
  EXPECT_EQ(Write(0x2010, 0, 1), 0x06090011u);
  EXPECT_EQ(Write(0x2014, 1, 1), 0x06020000u);
  EXPECT_EQ(Write(0x2001, 3, 1), 0x06010002u);
  EXPECT_EQ(Read(0x2001, 1), 60'000u);
}

// Begin and end of each tooth, its own shaft; then the number of teeth with duty 0.
TEST_F(CoreNodeTest, UnevenTeethAreLookedAtBeforeTheyCount) {
  Armed();
  Write(0x2010, 1, 0);
  Write(0x2010, 3, 0);
  Write(0x2100, 1, 10'000'000), Write(0x2200, 1, 50'000'000);
  Write(0x2100, 2, 40'000'000), Write(0x2200, 2, 90'000'000);
  EXPECT_EQ(Write(0x2010, 1, 2), kOutOfRange);  // the second begins within the first
  Write(0x2100, 2, 180'000'000), Write(0x2200, 2, 190'000'000);
  EXPECT_EQ(Write(0x2010, 1, 2), kDone);
  board_.set.clear();
  Pass(1000);
  EXPECT_EQ(board_.set.size(), 4u);
}

TEST_F(CoreNodeTest, AWheelOfUnevenTeethIsTakenOffAgain) {
  Armed();
  Write(0x2010, 3, 0);
  Write(0x2100, 1, 10'000'000), Write(0x2200, 1, 50'000'000);
  EXPECT_EQ(Write(0x2010, 1, 1), kDone);
  EXPECT_EQ(Write(0x2010, 4, 2), kNotNow);
  EXPECT_EQ(Write(0x2010, 1, 0), kDone);
  EXPECT_EQ(Write(0x2010, 4, 2), kDone);
  Pass(100);
  board_.set.clear();
  Pass(2000);
  EXPECT_TRUE(board_.set.empty());
}

// The crank has turned 0.4 of a turn before: the even wheel's first edge comes where its 0 passes, at
// once, and the next 125 ms later.
TEST_F(CoreNodeTest, ArmedAnewTheCrankIsAtZero) {
  Armed();
  Pass(400);
  EXPECT_EQ(Write(0x2000, 1, 0), kDone);
  Beat();
  EXPECT_EQ(Write(0x2000, 1, kArmWord), kDone);
  board_.set.clear();
  const int64_t begin = board_.now + kAhead;
  EXPECT_EQ(Write(0x2001, 1, 60'000), kDone);
  Pass(130);
  ASSERT_EQ(board_.set.size(), 2u);
  EXPECT_LE(board_.set[0].t - begin, 1);
  EXPECT_TRUE(board_.set[0].level);
  EXPECT_NEAR(static_cast<double>(board_.set[1].t - begin), 125e6, 2);
}

// Edges each 125 ms; the loop stood still for 300 ms, and then it is told to stop.
TEST_F(CoreNodeTest, ALateLoopLeavesEdgesWhereTheyWere) {
  Armed();
  EXPECT_EQ(Write(0x1016, 1, 1 << 16 | 1000), kDone);
  const int64_t begin = board_.now + kAhead;
  Pass(1);
  board_.set.clear();
  board_.now = begin + 300 * kMs;
  EXPECT_EQ(Write(0x2001, 1, 0), kDone);
  ASSERT_EQ(board_.set.size(), 2u);
  EXPECT_NEAR(static_cast<double>(board_.set[0].t - begin), 125e6, 2);
  EXPECT_NEAR(static_cast<double>(board_.set[1].t - begin), 250e6, 2);
}

TEST_F(CoreNodeTest, HeartbeatsAreSentAtTheirPeriod) {
  Armed();
  Write(0x1017, 0, 100);
  board_.sent.clear();
  Pass(1000);
  EXPECT_EQ(board_.sent.size(), 10u);
  EXPECT_EQ(board_.sent[0].id, 0x705);
  EXPECT_EQ(board_.sent[0].data[0], 5);
}

// AUTOSAR's published vectors of this CRC (tests/reference/crc.yaml).
TEST(FrameLineTest, TheCrcIsThePublishedOne) {
  const std::map<std::vector<uint8_t>, uint16_t> kVectors{
      {{0x00, 0x00, 0x00, 0x00}, 0x84C0},
      {{0xF2, 0x01, 0x83}, 0xD374},
      {{0x33, 0x22, 0x55, 0xAA, 0xBB, 0xCC, 0xDD, 0xEE, 0xFF}, 0xF53F}};
  for (const auto& [bytes, crc] : kVectors) {
    EXPECT_EQ(Crc16(bytes.data(), static_cast<int32_t>(bytes.size())), crc);
  }
}

// END and ESC within, as RFC 1055 says: C0 becomes DB DC, DB becomes DB DD.
TEST(FrameLineTest, EveryFrameComesBackAndADamagedOneIsRefused) {
  FrameReader reader;
  CoreFrame frame{0x5C0, 8, {0xC0, 0xDB, 0xDC, 0xDD, 0, 0xFF, 0xC0, 0xC0}}, back;
  uint8_t bytes[kMostLine];
  const int32_t count = Line(frame, bytes);
  int32_t whole = 0;
  for (int32_t i = 0; i < count; ++i) whole += reader.Take(bytes[i], back);
  EXPECT_EQ(whole, 1);
  EXPECT_EQ(back.id, frame.id);
  EXPECT_THAT(back.data, testing::ElementsAreArray(frame.data));
  for (int32_t wrong = 1; wrong + 1 < count; ++wrong) {
    for (int32_t i = 0; i < count; ++i) {
      EXPECT_FALSE(reader.Take(i == wrong ? bytes[i] ^ 0x04 : bytes[i], back));
    }
  }
  EXPECT_GE(reader.refused(), static_cast<uint32_t>(count - 2));
}

TEST(FrameLineTest, WhatIsTooLongIsForgotten) {
  FrameReader reader;
  CoreFrame frame;
  for (int i = 0; i < 100; ++i) EXPECT_FALSE(reader.Take(1, frame));
  EXPECT_FALSE(reader.Take(0xC0, frame));
  EXPECT_EQ(reader.refused(), 1u);
}

}  // namespace
}  // namespace drycrank::core
