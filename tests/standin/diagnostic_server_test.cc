// SPDX-License-Identifier: Apache-2.0
//
// The stand-in's answers, asked frame by frame as a tester would (ISO 15765-4).
#include "standin/diagnostic_server.h"

#include <gtest/gtest.h>

#include <map>
#include <string>

#include "tests/bus/build_signal.h"

namespace drycrank::standin {
namespace {

using bus::Frame;
using bus::FrameOf;

class DiagnosticServerTest : public testing::Test {
 protected:
  DiagnosticServerTest() {
    profile::AnalogChannel coolant;
    coolant.name = "coolant_temperature";
    coolant.unit = "degF";
    controller_.analog.push_back(coolant);
    profile::OnBoardDiagnostics& d = controller_.diagnostics.emplace();
    d.functional_id = 0x7DF;
    d.request_id = 0x7E0;
    d.response_id = 0x7E8;
    d.vehicle_id = "1NVENTED00000TEST";
    d.pids = {{0x05, "coolant_temperature", {}}};
    d.trouble_codes = {{"P0118", 0x0118, "coolant_temperature", profile::RangeFault::kHigh, {}, {}},
                       {"P0117", 0x0117, "coolant_temperature", profile::RangeFault::kLow, {}, {}}};
  }
  DiagnosticServer& server() {
    if (!server_) {
      server_.emplace(controller_,
                      OwnValues{[this](std::string_view name) {
                                  names_.emplace_back(name);
                                  return static_cast<int>(names_.size()) - 1;
                                },
                                [this](int index) {
                                  return values_[names_[static_cast<std::size_t>(index)]];
                                }});
    }
    return *server_;
  }
  // Asks at t_ms; what it sends within the next second, with its times.
  std::vector<Frame> Ask(double t_ms, std::uint32_t id, const std::string& hex) {
    server();
    Settle(FromMs(t_ms));
    server().OnFrame({FromMs(t_ms), 0, true, FrameOf(id, false, hex)});
    return Settle(FromMs(t_ms) + kNsPerS);
  }
  std::vector<Frame> Settle(TimeNs until_ns) {
    std::vector<Frame> sent;
    times_ms_.clear();
    while (server().NextDue() <= until_ns) {
      const TimeNs t_ns = server().NextDue();
      bus::TimedFrame out;
      while (server().TakeDue(t_ns, out)) {
        sent.push_back(out.frame);
        times_ms_.push_back(ToMs(t_ns));
      }
    }
    return sent;
  }

  profile::Controller controller_;
  std::vector<std::string> names_;
  std::map<std::string, double> values_;
  std::optional<DiagnosticServer> server_;
  std::vector<double> times_ms_;
};

// 194 degF = 90 degC = 130 raw = 82 hex.
TEST_F(DiagnosticServerTest, AnswersInTheParametersUnitAfterItsTime) {
  values_["coolant_temperature"] = 194;
  EXPECT_EQ(Ask(100, 0x7DF, "0201050000000000"),
            std::vector{FrameOf(0x7E8, false, "0341058200000000")});
  EXPECT_EQ(times_ms_, std::vector{105.0});
}

TEST_F(DiagnosticServerTest, SlowAnswerIsAnnounced) {
  controller_.diagnostics->answer_ms = 400;
  values_["coolant_temperature"] = 194;
  const auto sent = Ask(100, 0x7E0, "0322F40500000000");
  ASSERT_EQ(sent.size(), 2u);
  EXPECT_EQ(sent[0], FrameOf(0x7E8, false, "037F227800000000"));
  EXPECT_EQ(sent[1], FrameOf(0x7E8, false, "0462F40582000000"));
  EXPECT_EQ(times_ms_, (std::vector{125.0, 500.0}));
}

TEST_F(DiagnosticServerTest, RangeFaultStoresItsCodeAndClearingForgetsIt) {
  EXPECT_EQ(Ask(0, 0x7DF, "0103"), std::vector{FrameOf(0x7E8, false, "0243000000000000")});
  values_["coolant_temperature.fault"] = 2;  // signal high
  EXPECT_EQ(Ask(2000, 0x7DF, "0103"), std::vector{FrameOf(0x7E8, false, "0443010118000000")});
  EXPECT_EQ(Ask(4000, 0x7E0, "031902FF00000000"),
            std::vector{FrameOf(0x7E8, false, "0759020D0118000D")});
  values_["coolant_temperature.fault"] = 0;  // gone; the code stays, no longer failing
  EXPECT_EQ(Ask(6000, 0x7E0, "031902FF00000000"),
            std::vector{FrameOf(0x7E8, false, "0759020D0118000C")});
  EXPECT_EQ(Ask(8000, 0x7DF, "0104"), std::vector{FrameOf(0x7E8, false, "0144000000000000")});
  EXPECT_EQ(Ask(10000, 0x7DF, "0103"), std::vector{FrameOf(0x7E8, false, "0243000000000000")});
}

TEST_F(DiagnosticServerTest, CodeOfAStandingFaultComesBackAfterClearing) {
  values_["coolant_temperature.fault"] = 1;
  Ask(0, 0x7DF, "0104");
  EXPECT_EQ(Ask(2000, 0x7DF, "0103"), std::vector{FrameOf(0x7E8, false, "0443010117000000")});
}

// 49 02 01 and 17 characters are 20 bytes = 14 hex; the rest waits for the tester's flow control.
TEST_F(DiagnosticServerTest, LongAnswerWaitsForFlowControl) {
  const auto first = Ask(0, 0x7DF, "0209020000000000");
  ASSERT_EQ(first.size(), 1u);
  EXPECT_EQ(first[0], FrameOf(0x7E8, false, "1014490201314E56"));  // "1NV"
  server().OnFrame({FromMs(1000), 0, true, FrameOf(0x7E0, false, "300000")});
  EXPECT_EQ(Settle(FromMs(1500)).size(), 2u);
}

TEST_F(DiagnosticServerTest, SecondQuestionMeanwhileIsPassedOver) {
  server().OnFrame({0, 0, true, FrameOf(0x7DF, false, "020105")});
  server().OnFrame({0, 0, true, FrameOf(0x7DF, false, "0103")});
  EXPECT_EQ(server().passed_over(), 1u);
}

TEST_F(DiagnosticServerTest, OtherBusesAndIdentifiersAreNotHeard) {
  server().OnFrame({0, 1, true, FrameOf(0x7DF, false, "020105")});
  server().OnFrame({0, 0, true, FrameOf(0x7E1, false, "020105")});
  server().OnFrame({0, 0, true, FrameOf(0x7DF, true, "020105")});
  EXPECT_TRUE(Settle(kNsPerS).empty());
}

}  // namespace
}  // namespace drycrank::standin
