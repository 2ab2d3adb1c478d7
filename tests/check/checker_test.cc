// SPDX-License-Identifier: Apache-2.0
#include "check/checker.h"

#include "tests/bus/count_allocations.h"
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using profile::Compare;

class CheckerTest : public Table {
 protected:
  CheckerTest() { AddStep("run", 100).drives = {Hold(kCoolant, 90), Hold(kSpeed, 600)}; }
  void ExpectOneOfEach() {
    auto& follows = Expect<expect::Follows>();
    follows.signal = {0, kTemps, 0};
    follows.target = {kCoolant, {}, 1, false};
    Expect<expect::Always>().condition = SyncIs(Compare::kEqual, 3);
    Expect<expect::Never>().condition = SyncIs(Compare::kEqual, 1);
    Expect<expect::Within>() = {SyncIs(Compare::kEqual, 3), 1};
    Expect<expect::ForAtLeast>() = {SyncIs(Compare::kEqual, 3), 1};
    auto& present = Expect<expect::MessagePresent>();
    present.period_ms = 10;
    present.jitter_ms = 1;
    Expect<expect::Counter>();
    Expect<expect::Checksum>().message = {0, kTemps};
    Expect<expect::DisplayShows>() = {0, {kCoolant, {}, 1, false}, "degC", "ok"};
    Expect<expect::Synchronised>() = {SyncIs(Compare::kEqual, 3), 1};
    profile::Message& temps = bench_.buses[0].messages[kTemps];
    temps.checksum = profile::ChecksumKind::kCrc8SaeJ1850;
    temps.signals.push_back({});
    temps.signals.back().start_bit = 24;
    temps.checksum_signal = 3;
    temps.length_bytes = 4;
  }
  // CRC-8/SAE-J1850 of 82 00 00, worked bit by bit apart from our code (polynomial 0x1D, start
  // 0xFF, end inverted; the same working gives the catalogue's check value 0x4B for "123456789").
  static constexpr int kChecksumOf820000 = 0x32;
  void Feed(int first, int last) {
    for (int i = first; i < last; ++i) {
      Receive(Ms(10 * i), kStatus, {3, 0, 0, 0, 0, 0, i % 16});
      Receive(Ms(10 * i), kTemps, {130, 0, 0, kChecksumOf820000});
      Dash(Ms(10 * i), 900, 0, 0);
    }
  }
};

TEST_F(CheckerTest, HealthyBenchMeetsEveryKind) {
  ExpectOneOfEach();
  Begin(0, 0);
  Feed(1, 500);
  Finish(S(5));
  for (const Verdict& verdict : checker_->verdicts()) {
    EXPECT_EQ(verdict.outcome, Outcome::kMet) << verdict.detail;
    EXPECT_EQ(&verdict - checker_->verdicts().data(), verdict.expectation);
  }
  EXPECT_TRUE(checker_->AllMet());
}

TEST_F(CheckerTest, FramesAreJudgedWithoutAllocation) {
  ExpectOneOfEach();
  Begin(0, 0);
  const std::size_t before = bus::Allocations();
  Feed(1, 5000);
  EXPECT_EQ(bus::Allocations() - before, 0u);
}

TEST_F(CheckerTest, SameFeedGivesSameVerdicts) {
  ExpectOneOfEach();
  Begin(0, 0);
  Feed(1, 400);
  Dash(S(4), 880, 1, 1);
  Finish(S(5));
  const std::vector<Verdict> first = checker_->verdicts();
  timeline_.reset();
  Begin(0, 0);
  Feed(1, 400);
  Dash(S(4), 880, 1, 1);
  Finish(S(5));
  ASSERT_EQ(checker_->verdicts().size(), first.size());
  for (std::size_t i = 0; i < first.size(); ++i) {
    const Verdict& again = checker_->verdicts()[i];
    EXPECT_EQ(again.outcome, first[i].outcome);
    EXPECT_EQ(again.margin, first[i].margin);
    EXPECT_EQ(again.worst_ns, first[i].worst_ns);
    EXPECT_EQ(again.judged, first[i].judged);
    EXPECT_EQ(again.detail, first[i].detail);
    EXPECT_EQ(again.evidence.points.size(), first[i].evidence.points.size());
  }
}

TEST_F(CheckerTest, OtherFramesAreNotTakenForTheMessage) {
  Expect<expect::Always>().condition = SyncIs(Compare::kEqual, 3);
  Begin(0, 0);
  bus::TimedFrame frame;
  frame.t_ns = S(1);
  frame.frame.id = 0x100;
  frame.frame.length = 8;
  bus::TimedFrame extended = frame, other_bus = frame, remote = frame, error = frame, sent = frame;
  extended.frame.extended = true;
  other_bus.bus = 1;
  remote.frame.remote = true;
  error.frame.error = true;
  for (const auto& each : {extended, other_bus, remote, error}) checker_->OnFrame(each);
  sent.sent = true;
  checker_->OnFrame(sent);  // our own frames count as seen
  EXPECT_EQ(Finish(S(2)).judged, 1u);
}

TEST_F(CheckerTest, StepShorterThanItsSettlingIsNotJudged) {
  AddStep("blip", 0.1);
  auto& e = Expect<expect::Always>();
  e.condition = SyncIs(Compare::kEqual, 3);
  expectation().settle_s = 0.5;
  expectation().during = {"blip"};
  Begin(0, 0);
  Begin(1, S(1));
  Sync(S(1.05), 0);
  EXPECT_EQ(Finish(S(1.1)).outcome, Outcome::kNotObservable);
}

}  // namespace
}  // namespace drycrank::check
