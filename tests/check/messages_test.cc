// SPDX-License-Identifier: Apache-2.0
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

class MessagePresentTest : public Table {
 protected:
  MessagePresentTest() {
    AddStep("run", 10);
    auto& e = Expect<expect::MessagePresent>();
    e.period_ms = 10;
    e.jitter_ms = 2;
  }
  void At(std::initializer_list<double> times_ms) {
    for (const double t : times_ms) Sync(Ms(t), 0);
  }
};

TEST_F(MessagePresentTest, MarginIsWhatJitterLeaves) {
  Begin(0, 0);
  At({5, 15, 26.5, 36.5});  // worst gap 11.5 ms
  const Verdict& verdict = Finish(Ms(40));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 0.5);
  EXPECT_EQ(verdict.margin_unit, "ms");
  EXPECT_EQ(verdict.worst_ns, Ms(26.5));
  EXPECT_EQ(verdict.judged, 4u);
  EXPECT_EQ(verdict.evidence.points.size(), 3u);
  EXPECT_EQ(verdict.detail, "engine_status at worst after 11.5 ms, should be 10.0 ms ± 2.0 ms");
}

TEST_F(MessagePresentTest, LateMessageFails) {
  Begin(0, 0);
  At({5, 15, 35, 45});
  const Verdict& verdict = Finish(Ms(50));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -8);  // 2 - |20 - 10|
  EXPECT_EQ(verdict.detail,
            "engine_status after 20.0 ms, should be 10.0 ms ± 2.0 ms; 1 gap outside, 4 messages "
            "received");
}

TEST_F(MessagePresentTest, EarlyMessageFailsToo) {
  Begin(0, 0);
  At({5, 10, 20});
  EXPECT_DOUBLE_EQ(Finish(Ms(25)).margin, -3);  // 2 - |5 - 10|
}

TEST_F(MessagePresentTest, SilenceAtTheBeginFails) {
  Begin(0, 0);
  At({30, 40, 50});
  EXPECT_DOUBLE_EQ(Finish(Ms(55)).margin, -18);  // 12 - 30
}

TEST_F(MessagePresentTest, SilenceAtTheEndFails) {
  Begin(0, 0);
  At({10, 20});
  const Verdict& verdict = Finish(Ms(100));
  EXPECT_DOUBLE_EQ(verdict.margin, -68);  // 12 - 80
  EXPECT_EQ(verdict.worst_ns, Ms(100));
  EXPECT_EQ(verdict.detail,
            "engine_status missing for 80.0 ms, should come every 10.0 ms ± 2.0 ms; 1 gap outside, "
            "2 messages received");
}

TEST_F(MessagePresentTest, MissingMessageIsNotObserved) {
  Begin(0, 0);
  const Verdict& verdict = Finish(Ms(100));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_DOUBLE_EQ(verdict.margin, -88);  // 12 - 100
  EXPECT_EQ(verdict.detail, "engine_status was not received in 100.0 ms");
}

TEST_F(MessagePresentTest, JudgedTimeBeginsSettled) {
  scenario_.expectations[0].settle_s = 0.1;
  Begin(0, 0);
  At({110, 120, 130});  // nothing in the first 100 ms
  EXPECT_EQ(Finish(Ms(135)).outcome, Outcome::kMet);
}

// At the border of the judged time nothing says when the message before it came: up to 12 ms may
// pass, and of these 12 - 1 are left.
TEST_F(MessagePresentTest, AtABorderTheMarginIsAShareOfPeriodAndJitter) {
  Begin(0, 0);
  At({1});
  const Verdict& verdict = Finish(Ms(2));
  EXPECT_DOUBLE_EQ(verdict.margin, 11);
  EXPECT_DOUBLE_EQ(verdict.allowed, 12);
}

TEST_F(MessagePresentTest, BetweenMessagesTheMarginIsAShareOfTheJitter) {
  Begin(0, 0);
  At({1, 12});
  const Verdict& verdict = Finish(Ms(13));
  EXPECT_DOUBLE_EQ(verdict.margin, 1);  // 2 - |11 - 10|
  EXPECT_DOUBLE_EQ(verdict.allowed, 2);
}

TEST_F(MessagePresentTest, TimeBetweenNamedStepsIsNoGap) {
  AddStep("off", 1);
  AddStep("on again", 1);
  scenario_.expectations[0].during = {"run", "on again"};
  Begin(0, 0);
  At({10, 20});
  Begin(1, Ms(25));
  Begin(2, Ms(500));
  At({510, 520});
  EXPECT_EQ(Finish(Ms(525)).outcome, Outcome::kMet);
}

// engine_status is sent every 10 ms: 2 - |20 - 10|.
TEST_F(MessagePresentTest, PeriodIsTheMessagesOwnWhenNotGiven) {
  std::get<expect::MessagePresent>(expectation().kind).period_ms = 0;
  Begin(0, 0);
  At({10, 30});
  EXPECT_DOUBLE_EQ(Finish(Ms(35)).margin, -8);
}

TEST_F(MessagePresentTest, EventMessageMustComeOnce) {
  std::get<expect::MessagePresent>(expectation().kind).period_ms = 0;
  bench_.buses[0].messages[kStatus].period_ms = 0;
  Begin(0, 0);
  At({70});
  const Verdict& verdict = Finish(Ms(1000));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 1);
  EXPECT_EQ(verdict.margin_unit, "frames");
  EXPECT_EQ(verdict.allowed, 0);  // frames are counted: there is no share of anything
}

class CounterTest : public Table {
 protected:
  CounterTest() {
    AddStep("run", 10);
    Expect<expect::Counter>();
  }
  void Count(std::initializer_list<int> counts) {
    TimeNs t_ns = 0;
    for (const int count : counts) {
      Receive(t_ns += Ms(10), kStatus, {0, 0, 0, 0, 0, 0, count});
    }
  }
};

// Four bits: 15 is followed by 0.
TEST_F(CounterTest, WrapsAtItsLength) {
  Begin(0, 0);
  Count({13, 14, 15, 0, 1});
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 4);  // the first has none before it
  EXPECT_EQ(verdict.margin_unit, "frames");
  EXPECT_EQ(verdict.detail, "rolling counter of engine_status right in 4 frames");
}

TEST_F(CounterTest, StuckCounterFails) {
  Begin(0, 0);
  Count({7, 7, 7});
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -2);
  EXPECT_EQ(verdict.worst_ns, Ms(20));
  EXPECT_EQ(verdict.detail,
            "rolling counter of engine_status wrong in 2 of 2 frames; first 7, should be 8");
}

TEST_F(CounterTest, LostFrameShowsOnce) {
  Begin(0, 0);
  Count({1, 2, 4, 5});
  EXPECT_DOUBLE_EQ(Finish(S(10)).margin, -1);
}

TEST_F(CounterTest, OneFrameIsTooFew) {
  Begin(0, 0);
  Count({1});
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kNotObserved);
}

TEST_F(CounterTest, MessageWithoutCounterIsNotObserved) {
  std::get<expect::Counter>(expectation().kind).message = {0, kTemps};
  Begin(0, 0);
  Coolant(S(1), 90);
  Coolant(S(2), 90);
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_EQ(verdict.detail, "engine_temps has no rolling counter");
}

// AUTOSAR Specification of CRC Routines, vector F2 01 83: CRC-8 (polynomial 0x1D) is 0x37, CRC8H2F
// is 0xC2; vector 00 00 00 00: 0x59. As in tests/reference/crc.yaml.
class ChecksumTest : public Table {
 protected:
  ChecksumTest() {
    AddStep("run", 10);
    Expect<expect::Checksum>();
    status().counter_signal = -1;
    ChecksumAt(3);
  }
  profile::Message& status() { return bench_.buses[0].messages[kStatus]; }
  void ChecksumAt(int byte) {
    status().length_bytes = byte + 1;
    status().signals[2].start_bit = 0;
    status().signals[3].start_bit = 8 * byte;
  }
};

TEST_F(ChecksumTest, PublishedVectorIsRight) {
  Begin(0, 0);
  Receive(S(1), kStatus, {0xF2, 0x01, 0x83, 0x37});
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kMet);
  EXPECT_DOUBLE_EQ(verdict.margin, 1);
  EXPECT_EQ(verdict.detail, "checksum of engine_status right in 1 frames");
}

TEST_F(ChecksumTest, PublishedVectorOfZeroesIsRight) {
  ChecksumAt(4);
  Begin(0, 0);
  Receive(S(1), kStatus, {0, 0, 0, 0, 0x59});
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kMet);
}

TEST_F(ChecksumTest, OtherPolynomialIsRightByItsOwnVector) {
  status().checksum = profile::ChecksumKind::kCrc8Autosar;
  Begin(0, 0);
  Receive(S(1), kStatus, {0xF2, 0x01, 0x83, 0xC2});
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kMet);
}

TEST_F(ChecksumTest, OneWrongByteFails) {
  Begin(0, 0);
  Receive(S(1), kStatus, {0xF2, 0x01, 0x83, 0x37});
  Receive(S(2), kStatus, {0xF2, 0x01, 0x83, 0xC8});  // inverted
  Receive(S(3), kStatus, {0xF2, 0x01, 0x82, 0x37});
  const Verdict& verdict = Finish(S(10));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -2);
  EXPECT_EQ(verdict.worst_ns, S(2));
  EXPECT_EQ(verdict.detail, "checksum of engine_status wrong in 2 of 3 frames");
}

TEST_F(ChecksumTest, SilenceIsNotObserved) {
  Begin(0, 0);
  EXPECT_EQ(Finish(S(10)).outcome, Outcome::kNotObserved);
}

}  // namespace
}  // namespace drycrank::check
