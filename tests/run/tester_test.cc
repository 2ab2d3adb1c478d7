// SPDX-License-Identifier: Apache-2.0
//
// The run's tester: one question per slot, in turn, and only when the controller owes no answer.
#include "run/tester.h"

#include <gtest/gtest.h>

#include "bus/inproc_bus.h"
#include "run/runner.h"
#include "standin/diagnostic_server.h"
#include "tests/bus/build_signal.h"
#include "tests/run/loaded.h"
#include "types/clock.h"

namespace drycrank::run {
namespace {

using bus::Frame;
using bus::FrameOf;
using profile::Dialect;
namespace expect = profile::expect;

class TesterTest : public testing::Test {
 protected:
  TesterTest() {
    bench_.controller.emplace();
    profile::OnBoardDiagnostics& d = bench_.controller->diagnostics.emplace();
    d.functional_id = 0x7DF;
    d.request_id = 0x7E0;
    d.response_id = 0x7E8;
    d.slot_ms = 60;
  }
  template <class Kind>
  void Expect(Dialect over, int pid = -1) {
    Kind& kind = scenario_.expectations.emplace_back().kind.emplace<Kind>();
    kind.question.over = over;
    kind.question.pid = pid;
  }
  std::vector<std::pair<double, Frame>> SentUpTo(Tester& tester, double until_ms) {
    std::vector<std::pair<double, Frame>> sent;
    while (tester.NextDue() <= FromMs(until_ms)) {
      const TimeNs t_ns = tester.NextDue();
      bus::TimedFrame out;
      while (tester.TakeDue(t_ns, out)) sent.emplace_back(ToMs(t_ns), out.frame);
    }
    return sent;
  }

  profile::Bench bench_;
  profile::Scenario scenario_;
};

TEST_F(TesterTest, IsNeededOnlyForQuestions) {
  EXPECT_FALSE(Tester::IsNeeded(bench_, scenario_));
  Expect<expect::NoTroubleCodes>(Dialect::kDm1);  // broadcast, not asked for
  scenario_.expectations.emplace_back().kind = expect::Follows{};
  EXPECT_FALSE(Tester::IsNeeded(bench_, scenario_));
  Expect<expect::NoTroubleCodes>(Dialect::kObd);
  EXPECT_TRUE(Tester::IsNeeded(bench_, scenario_));
  bench_.controller->diagnostics.reset();
  EXPECT_FALSE(Tester::IsNeeded(bench_, scenario_));
}

TEST_F(TesterTest, AsksInTurnEachQuestionOnce) {
  Expect<expect::ControllerReads>(Dialect::kObd, 0x05);
  Expect<expect::TroubleCode>(Dialect::kObd);
  Expect<expect::NoTroubleCodes>(Dialect::kObd);  // the same question
  Expect<expect::ControllerReads>(Dialect::kUds, 0x05);
  Tester tester(bench_, scenario_);
  const auto sent = SentUpTo(tester, 240);
  ASSERT_EQ(sent.size(), 4u);
  EXPECT_EQ(sent[0], std::pair(60.0, FrameOf(0x7DF, false, "0201050000000000")));
  EXPECT_EQ(sent[1], std::pair(120.0, FrameOf(0x7DF, false, "0103000000000000")));
  EXPECT_EQ(sent[2], std::pair(180.0, FrameOf(0x7E0, false, "0322F40500000000")));
  EXPECT_EQ(sent[3], std::pair(240.0, FrameOf(0x7DF, false, "0201050000000000")));
}

TEST_F(TesterTest, PendingAnswerIsWaitedFor) {
  Expect<expect::ControllerReads>(Dialect::kObd, 0x05);
  Tester tester(bench_, scenario_);
  ASSERT_EQ(SentUpTo(tester, 60).size(), 1u);
  tester.OnFrame({FromMs(80), 0, false, FrameOf(0x7E8, false, "037F017800000000")});
  EXPECT_TRUE(SentUpTo(tester, 300).empty());
  EXPECT_EQ(tester.passed_over(), 4u);  // 120, 180, 240, 300 ms
  tester.OnFrame({FromMs(310), 0, false, FrameOf(0x7E8, false, "0341058200000000")});
  EXPECT_EQ(SentUpTo(tester, 360).size(), 1u);
}

TEST_F(TesterTest, GivesFlowControlToLongAnswers) {
  Expect<expect::NoTroubleCodes>(Dialect::kObd);
  Tester tester(bench_, scenario_);
  SentUpTo(tester, 60);
  tester.OnFrame({FromMs(70), 0, false, FrameOf(0x7E8, false, "100A430401130107")});
  const auto sent = SentUpTo(tester, 75);
  ASSERT_EQ(sent.size(), 1u);
  EXPECT_EQ(sent[0], std::pair(70.0, FrameOf(0x7E0, false, "3000000000000000")));
}

// Nobody plays the controller here: it sits on the far end of the bus, as a real one would.
TEST(TesterOutside, AControllerOnTheBusIsAskedAndJudged) {
  const profile::LoadedScenario loaded = Shipped("hill_climb/obd_healthy");
  const profile::Bench& bench = *loaded.bench;
  profile::Scenario scenario;
  scenario.steps.resize(1);
  scenario.steps[0].name = "live";
  scenario.steps[0].for_s = 2;
  scenario.expectations = {loaded.scenario->expectations[0]};  // obd_coolant
  scenario.expectations[0].during.clear();
  std::get<expect::ControllerReads>(scenario.expectations[0].kind).target.value = 77;
  ManualClock clock;
  const auto hub = std::make_shared<bus::InprocHub>(clock);
  bus::InprocBus ours(hub), theirs(hub);
  RunOptions options;
  options.controller = false;
  options.interfaces = {&ours};
  Runner runner(bench, scenario, options);
  standin::DiagnosticServer outside(*bench.controller,
                                    {[](std::string_view) { return 0; }, [](int) { return 77.0; }});
  runner.Start();
  for (TimeNs t_ns = 0; t_ns <= 2 * kNsPerS; t_ns += kNsPerMs) {
    clock.WaitUntil(t_ns, {});
    runner.RunTo(t_ns);
    while (const auto frame = theirs.Receive()) outside.OnFrame(*frame);
    bus::TimedFrame out;
    while (outside.NextDue() <= t_ns) {
      if (outside.TakeDue(t_ns, out)) theirs.Send(out.frame);
    }
    runner.Poll(t_ns);
  }
  ASSERT_TRUE(runner.finished());
  const check::Verdict& verdict = runner.checker().verdicts()[0];
  EXPECT_EQ(verdict.outcome, check::Outcome::kMet) << verdict.detail;
  EXPECT_GE(verdict.judged, 24u);  // every 60 ms from 0.5 s (settling) to 2 s
}

}  // namespace
}  // namespace drycrank::run
