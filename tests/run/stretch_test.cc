// SPDX-License-Identifier: Apache-2.0
//
// A run whose bus goes away for a while: it goes on, the record says so, and judging the record
// gives the same verdicts.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "bus/inproc_bus.h"
#include "run/bus_watch.h"
#include "study/play.h"
#include "tests/run/loaded.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::run {
namespace {

using bus::BusEvent;
using testing::Contains;
using testing::HasSubstr;
using Change = BusWatch::Change;

TEST(BusWatch, DownUntilUp) {
  BusWatch watch;
  EXPECT_EQ(watch.On(BusEvent::kDown), Change::kLost);
  EXPECT_STREQ(watch.why(), "interface down");
  EXPECT_EQ(watch.On(BusEvent::kSendQueueFull), Change::kNone);
  EXPECT_EQ(watch.On(BusEvent::kUp), Change::kRegained);
}

TEST(BusWatch, WhatIsNotArmedProvesNothingThoughItsInterfaceIsUp) {
  BusWatch watch;
  EXPECT_EQ(watch.On(BusEvent::kNotArmed), Change::kLost);
  EXPECT_STREQ(watch.why(), "not armed, frames not sent");
  EXPECT_EQ(watch.On(BusEvent::kUp), Change::kNone);
  EXPECT_EQ(watch.On(BusEvent::kSending), Change::kNone);
  EXPECT_EQ(watch.On(BusEvent::kArmed), Change::kRegained);
}

TEST(BusWatch, OverrunIsAnInstantAndWarningsAreNothing) {
  BusWatch watch;
  EXPECT_EQ(watch.On(BusEvent::kErrorPassive), Change::kNone);
  EXPECT_EQ(watch.On(BusEvent::kOverrun), Change::kBlink);
  EXPECT_EQ(watch.On(BusEvent::kDown), Change::kLost);
  EXPECT_EQ(watch.On(BusEvent::kOverrun), Change::kNone);
}

TEST(BusWatch, AFloodIsNotedOnceAndCounted) {
  BusWatch watch;
  EXPECT_EQ(watch.TakeForNote(BusEvent::kNoAcknowledge, 0), 1u);
  std::uint64_t noted = 0;
  for (int i = 1; i <= 10'000; ++i) {
    noted += watch.TakeForNote(BusEvent::kNoAcknowledge, i * kNsPerMs) > 0 ? 1u : 0u;
  }
  EXPECT_EQ(noted, 1u);  // at 10 s
}

class StretchRunTest : public testing::Test {
 protected:
  // The bus goes at `down_s` and comes at `up_s`.
  study::PlayResult Play(double down_s, double up_s) {
    VirtualClock clock;
    auto hub = std::make_shared<bus::InprocHub>(clock);
    bus::InprocBus ours(hub);
    study::PlayOptions options;
    options.clock = &clock;
    options.pictures = false;
    options.record_folder = folder_.Path("record");
    options.run.interfaces = {&ours};
    bool down = false, up = false;
    options.why_stop = [&](TimeNs t_ns) {
      if (!down && t_ns >= FromSeconds(down_s)) hub->Report(BusEvent::kDown), down = true;
      if (!up && t_ns >= FromSeconds(up_s)) hub->Report(BusEvent::kUp), up = true;
      return std::string();
    };
    return study::Play(*loaded_.bench, *loaded_.scenario, options);
  }
  struct Judged {
    record::PlayedRecord played;
    std::vector<check::Verdict> verdicts;
  };
  Judged Judge() {
    scenario::Timeline timeline(*loaded_.bench, *loaded_.scenario);
    check::Checker checker(*loaded_.bench, *loaded_.scenario, timeline);
    record::PlayedRecord played = record::PlayRecord(folder_.Path("record"), *loaded_.bench,
                                                     *loaded_.scenario, timeline, checker);
    return {std::move(played), checker.verdicts()};
  }

  profile::LoadedScenario loaded_ = Shipped("kart/healthy");
  ScratchFolder folder_;
};

TEST_F(StretchRunTest, TheRecordGivesTheSameVerdicts) {
  const study::PlayResult live = Play(1, 2);
  ASSERT_EQ(live.problem, "");
  EXPECT_THAT(live.report.notes, Contains(HasSubstr("not observable from 1.0")));
  const Judged judged = Judge();
  EXPECT_TRUE(judged.played.problems.empty());
  EXPECT_THAT(judged.played.notes, Contains(HasSubstr("not observable from 1.0")));
  ASSERT_EQ(judged.verdicts.size(), live.report.verdicts.size());
  bool any = false;
  for (std::size_t i = 0; i < judged.verdicts.size(); ++i) {
    EXPECT_EQ(judged.verdicts[i].outcome, live.report.verdicts[i].outcome);
    EXPECT_EQ(judged.verdicts[i].detail, live.report.verdicts[i].detail);
    EXPECT_NE(judged.verdicts[i].outcome, check::Outcome::kFailed);
    any = any || judged.verdicts[i].stretch_count > 0;
  }
  EXPECT_TRUE(any);
}

TEST_F(StretchRunTest, GoneForTheWholeRunNothingIsProvenAndNothingFailed) {
  const study::PlayResult live = Play(0, 1e9);
  EXPECT_FALSE(report::AnyFailed(live.report));
  EXPECT_FALSE(report::AllMet(live.report));
  const auto unseen = std::ranges::count(live.report.verdicts, check::Outcome::kNotObservable,
                                         &check::Verdict::outcome);
  EXPECT_GT(unseen, 0);
  for (const auto& circuit : live.report.coverage) {
    EXPECT_EQ(circuit.state, check::CircuitState::kNotShown) << circuit.circuit;
  }
}

}  // namespace
}  // namespace drycrank::run
