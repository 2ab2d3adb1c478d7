// SPDX-License-Identifier: Apache-2.0
//
// controller_reads, trouble_code and no_trouble_codes, fed with frames by hand (SAE J1979, ISO
// 15765-2): 02 01 05 asks for the coolant temperature, 03 41 05 82 says 130 - 40 = 90 degC.
#include "tests/bus/build_signal.h"
#include "tests/bus/count_allocations.h"
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using profile::Dialect;
using profile::ExpectationKind;
using ::testing::HasSubstr;

class ControllerAnswers : public Table {
 protected:
  ControllerAnswers() {
    bench_.controller.emplace();
    profile::OnBoardDiagnostics& d = bench_.controller->diagnostics.emplace();
    d.functional_id = 0x7DF;
    d.request_id = 0x7E0;
    d.response_id = 0x7E8;
    bench_.controller->j1939.emplace();
    AddStep("warm", 100).drives = {Hold(kCoolant, 90)};
  }
  profile::Expectation& Reads(double tolerance) {
    profile::Expectation& e = Expect(ExpectationKind::kControllerReads);
    e.question.pid = 0x05;
    e.stimulus = kCoolant;
    e.tolerance = tolerance;
    return e;
  }
  profile::Expectation& Code(std::uint32_t code, double within_s) {
    profile::Expectation& e = Expect(ExpectationKind::kTroubleCode);
    e.question.code = code;
    e.question.text = "P0118";
    e.within_s = within_s;
    return e;
  }
  void Feed(TimeNs t_ns, std::uint32_t id, const std::string& hex, bool extended = false) {
    bus::TimedFrame frame;
    frame.t_ns = t_ns;
    frame.frame = bus::FrameOf(id, extended, hex);
    checker_->OnFrame(frame);
  }
  void Ask(TimeNs t_ns, const std::string& hex) { Feed(t_ns, 0x7DF, hex); }
  void Answer(TimeNs t_ns, const std::string& hex) { Feed(t_ns, 0x7E8, hex); }
  void AskCoolant(TimeNs t_ns, const std::string& raw) {
    Ask(t_ns, "0201050000000000");
    Answer(t_ns + Ms(5), "034105" + raw + "00000000");
  }
};

TEST_F(ControllerAnswers, MarginIsToleranceLessDeviation) {
  Reads(2);
  Begin(0, 0);
  AskCoolant(S(1), "82");  // 90
  AskCoolant(S(2), "83");  // 91
  const Verdict& verdict = Finish(S(3));
  EXPECT_EQ(verdict.outcome, Outcome::kMet) << verdict.detail;
  EXPECT_DOUBLE_EQ(verdict.margin, 1);
  EXPECT_EQ(verdict.judged, 2u);
  EXPECT_EQ(verdict.evidence.quantity, "PID 05 coolant_temperature");
}

TEST_F(ControllerAnswers, WrongValueFails) {
  Reads(2);
  Begin(0, 0);
  AskCoolant(S(1), "78");  // 80
  const Verdict& verdict = Finish(S(3));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -8);
  EXPECT_THAT(verdict.detail, HasSubstr("answered 80.0 °C, should be 90.0 °C"));
}

TEST_F(ControllerAnswers, NeverAnsweredIsNotObserved) {
  Reads(2);
  Begin(0, 0);
  Ask(S(1), "0201050000000000");
  Ask(S(2), "0201050000000000");
  const Verdict& verdict = Finish(S(3));
  EXPECT_EQ(verdict.outcome, Outcome::kNotObserved);
  EXPECT_THAT(verdict.detail, HasSubstr("2 of 2 questions unanswered"));
}

TEST_F(ControllerAnswers, OneAnswerMissingFails) {
  Reads(2);
  Begin(0, 0);
  AskCoolant(S(1), "82");
  Ask(S(2), "0201050000000000");
  AskCoolant(S(3), "82");
  const Verdict& verdict = Finish(S(4));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_THAT(verdict.detail, HasSubstr("1 of 3 questions unanswered"));
}

TEST_F(ControllerAnswers, RefusalIsNamed) {
  Reads(2);
  Begin(0, 0);
  Ask(S(1), "0201050000000000");
  Answer(S(1.01), "037F011100000000");
  EXPECT_THAT(Finish(S(2)).detail, HasSubstr("refused: service not supported"));
}

TEST_F(ControllerAnswers, PendingAnswerMayComeLate) {
  Reads(2);
  Begin(0, 0);
  Ask(S(1), "0201050000000000");
  Answer(S(1.04), "037F017800000000");
  Answer(S(3), "0341058200000000");
  EXPECT_EQ(Finish(S(4)).outcome, Outcome::kMet);
}

TEST_F(ControllerAnswers, AnswersToOtherQuestionsAreNotJudged) {
  Reads(2);
  Begin(0, 0);
  Ask(S(1), "02010C0000000000");
  Answer(S(1.01), "04410C1AF8000000");
  Feed(S(1.5), 0x7E9, "0341057800000000");  // another controller
  EXPECT_EQ(Finish(S(2)).outcome, Outcome::kNotObserved);
}

TEST_F(ControllerAnswers, CodeInTimeIsMet) {
  Code(0x0118, 2);
  Begin(0, 0);
  Ask(S(0.5), "0103");
  Answer(S(0.51), "0243000000000000");
  Ask(S(1), "0103");
  Answer(S(1.01), "0443010118000000");
  const Verdict& verdict = Finish(S(3));
  EXPECT_EQ(verdict.outcome, Outcome::kMet) << verdict.detail;
  EXPECT_NEAR(verdict.margin, 0.99, 1e-9);
}

TEST_F(ControllerAnswers, AnotherCodeDoesNotCount) {
  Code(0x0118, 2);
  Begin(0, 0);
  Ask(S(1), "0103");
  Answer(S(1.01), "0443010113000000");
  const Verdict& verdict = Finish(S(3));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_DOUBLE_EQ(verdict.margin, -1);
  EXPECT_THAT(verdict.detail, HasSubstr("last list: P0113"));
}

// Four codes: 43 04 + 8 bytes = 10 bytes in a first and a consecutive frame.
TEST_F(ControllerAnswers, ListOfSeveralFramesIsRead) {
  Code(0x0118, 2);
  Begin(0, 0);
  Ask(S(1), "0103");
  Answer(S(1.01), "100A430401130107");
  Feed(S(1.012), 0x7E0, "3000000000000000");
  Answer(S(1.02), "2101220118000000");
  EXPECT_EQ(Finish(S(3)).outcome, Outcome::kMet);
}

TEST_F(ControllerAnswers, AnyCodeFailsNoTroubleCodes) {
  Expect(ExpectationKind::kNoTroubleCodes);
  Begin(0, 0);
  Ask(S(1), "0103");
  Answer(S(1.01), "0243000000000000");
  EXPECT_EQ(Finish(S(2)).outcome, Outcome::kMet);
  timeline_.reset();
  Begin(0, 0);
  Ask(S(1), "0103");
  Answer(S(1.01), "0443010113000000");
  const Verdict& verdict = Finish(S(2));
  EXPECT_EQ(verdict.outcome, Outcome::kFailed);
  EXPECT_THAT(verdict.detail, HasSubstr("P0113"));
}

// ISO 14229-1: 59 02, mask, then code 01 18 00 with status 0D.
TEST_F(ControllerAnswers, CodesAreReadOverUds) {
  Code(0x0118, 2).question.over = Dialect::kUds;
  Begin(0, 0);
  Feed(S(1), 0x7E0, "0319020800000000");
  Answer(S(1.01), "0759020D0118000D");
  EXPECT_EQ(Finish(S(3)).outcome, Outcome::kMet);
}

// SAE J1939-73 and -21: SPN 110 FMI 4 alone in a frame, then two codes by BAM (10 bytes = 0A).
TEST_F(ControllerAnswers, CodesAreReadFromDm1) {
  profile::Expectation& e = Code(profile::SpnFmi(100, 3), 5);
  e.question.over = Dialect::kDm1;
  Begin(0, 0);
  Feed(S(1), 0x18FECA00, "04FF6E000401FFFF", true);
  Feed(S(2), 0x1CECFF00, "200A0002FFCAFE00", true);
  Feed(S(2.05), 0x1CEBFF00, "0104FF6E00040164", true);
  Feed(S(2.1), 0x1CEBFF00, "02000301FFFFFFFF", true);
  const Verdict& verdict = Finish(S(6));
  EXPECT_EQ(verdict.outcome, Outcome::kMet) << verdict.detail;
  EXPECT_NEAR(verdict.margin, 2.9, 1e-9);
}

TEST_F(ControllerAnswers, HostileFramesAreJudgedWithoutAllocation) {
  Reads(2);
  Code(0x0118, 2);
  Expect(ExpectationKind::kNoTroubleCodes).question.over = Dialect::kDm1;
  Begin(0, 0);
  bus::TimedFrame frame;
  const std::size_t before = bus::Allocations();
  std::uint64_t bits = 1;
  for (int i = 0; i < 200'000; ++i) {
    bits = bits * 6364136223846793005u + 1442695040888963407u;
    frame.t_ns = Ms(i);
    frame.frame.id = i % 3 == 0 ? 0x7E8 : i % 3 == 1 ? 0x7DF : 0x1CECFF00 - (i % 2) * 0x10000;
    frame.frame.extended = i % 3 == 2;
    frame.frame.length = static_cast<std::uint8_t>(i % 5 == 0 ? bits % 9 : 8);
    for (int b = 0; b < 8; ++b) {
      frame.frame.data[static_cast<std::size_t>(b)] = static_cast<std::uint8_t>(bits >> (8 * b));
    }
    frame.frame.data[0] &= 0x3F;
    checker_->OnFrame(frame);
  }
  EXPECT_EQ(bus::Allocations() - before, 0u);
}

}  // namespace
}  // namespace drycrank::check
