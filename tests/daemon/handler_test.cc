// SPDX-License-Identifier: Apache-2.0
#include "daemon/handler.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "bus/inproc_bus.h"
#include "daemon/daemon.h"
#include "tests/run/loaded.h"
#include "types/random.h"

namespace drycrank::daemon {
namespace {

class HandlerTest : public testing::Test {
 protected:
  HandlerTest() {
    options_.endless = true;
    runner_.emplace(bench_, scenario_, options_);
    runner_->Start();
    handler_.emplace(bench_, *runner_, interfaces_, [] {});
  }
  nlohmann::json Ask(const std::string& line) {
    return nlohmann::json::parse(handler_->Reply(ParseRequest(line), 1));
  }
  void GoOnMs(int ms) { runner_->RunTo(runner_->now_ns() + ms * kNsPerMs); }

  profile::LoadedScenario loaded_ = run::Shipped("hill_climb/healthy");
  const profile::Bench& bench_ = *loaded_.bench;
  profile::Scenario scenario_ = LiveScenario();
  run::RunOptions options_;
  std::vector<bus::CanBus*> interfaces_;
  std::optional<run::Runner> runner_;
  std::optional<Handler> handler_;
};

TEST_F(HandlerTest, MinusZeroIsZeroAndTimeGoesOn) {
  EXPECT_TRUE(Ask("set engine_speed 900 rpm")["ok"]);
  GoOnMs(100);
  EXPECT_EQ(Ask("set engine_speed -0").dump(),
            R"({"ok":true,"stimulus":"engine_speed","unit":"rpm","value":0.0})");
  EXPECT_TRUE(Ask("ramp engine_speed -0.0 rpm in -0 s")["ok"]);
  GoOnMs(100);
  EXPECT_EQ(runner_->now_ns(), 200 * kNsPerMs);
  EXPECT_EQ(runner_->failure(), "");
}

// What a client may write by mistake, or on purpose: no number, the ends of double (IEEE 754-2019,
// table 3.5: 1.8e308, 2.2e-308, 4.9e-324), zeros with a sign, sizes that only overflow once converted.
constexpr const char* kNumbers[] = {
    "nan",      "-nan",   "inf",    "-inf",    "NaN",   "0",      "-0",      "-0.0",   "+0",
    "-0e9",     "1e308",  "-1e308", "1.8e308", "1e999", "5e-324", "-5e-324", "2e-310", "-2e-310",
    "2.2e-308", "1e-400", "1e300",  "9e15",    "1",     "-1",     "900",     "20000",  "19999.9999",
    "0x10",     "1e",     "",       "--1",     "1e12",  "1e-12",  "6000",    "90",     "3.3"};
constexpr const char* kUnits[] = {"",    " rpm", " degC", " K",  " kPa",   " psi", " V",      " s",
                                  " ms", " h",   " MPa",  " us", " rad/s", " %",   " furlong"};

class Client {
 public:
  explicit Client(const profile::Bench& bench) : bench_(bench) {}
  std::string Request() {
    const std::string stimulus = bench_.stimuli[Below(bench_.stimuli.size())].name;
    switch (Below(8)) {
      case 0:
      case 1:
      case 2:
        return fmt::format("set {} {}", stimulus, Number());
      case 3:
      case 4:
        return fmt::format("ramp {} {} in {}", stimulus, Number(), Number());
      case 5:
        return fmt::format("fault {{name: f, kind: series_resistance, at: {}.1, ohm: {}}}",
                           Below(2) == 0 ? "CLT" : "ECU", Number());
      case 6:
        return fmt::format("fault {{name: f, kind: wheel_offset, at: crank, deg: {}}}", Number());
      default:
        return Below(2) == 0 ? "clear f" : "status";
    }
  }

 private:
  std::size_t Below(std::size_t count) {
    return static_cast<std::size_t>(random_.Uniform() * static_cast<double>(count)) % count;
  }
  std::string Number() {
    const std::string number = kNumbers[Below(std::size(kNumbers))];
    return Below(2) == 0 ? number : number + kUnits[Below(std::size(kUnits))];
  }

  const profile::Bench& bench_;
  Random random_{20'000, 11};
};

// Twelve thousand requests, a millisecond of the bench after each: every one is answered, or refused
// with a reason, and time goes on.
TEST_F(HandlerTest, EverySpecialNumberIsAnsweredOrRefused) {
  Client client(bench_);
  int answered = 0, refused = 0;
  for (int i = 1; i <= 12'000; ++i) {
    const std::string request = client.Request();
    const nlohmann::json reply = Ask(request);
    ASSERT_TRUE(reply["ok"].is_boolean()) << request;
    const bool ok = reply["ok"];
    ASSERT_TRUE(ok || !reply["problem"].get<std::string>().empty()) << request;
    ++(ok ? answered : refused);
    GoOnMs(1);
    ASSERT_EQ(runner_->now_ns(), i * kNsPerMs) << request;
  }
  EXPECT_EQ(runner_->failure(), "");
  EXPECT_GT(answered, 1000);
  EXPECT_GT(refused, 1000);
}

TEST_F(HandlerTest, FaultsDoNotPileUp) {
  for (std::size_t i = 0; i < kMostFaults; ++i) {
    // Not yet in force.
    const auto reply =
        Ask(fmt::format("fault {{name: fault_{}, kind: open, at: CLT.1, from_s: 1000 s}}", i));
    ASSERT_TRUE(reply["ok"]) << reply;
  }
  EXPECT_EQ(Ask("fault {name: more, kind: open, at: CLT.1}")["problem"],
            "100 faults are in force; clear one before");
  EXPECT_TRUE(Ask("fault {name: fault_7, kind: open, at: CLT.1}")["ok"]);  // takes another's place
  EXPECT_TRUE(Ask("clear fault_8")["ok"]);
  EXPECT_TRUE(Ask("fault {name: more, kind: open, at: CLT.1}")["ok"]);
}

TEST_F(HandlerTest, ADriveEndsWithItsClient) {
  const int speed = profile::IndexOf(bench_.stimuli, "engine_speed");
  const auto value = [&] { return runner_->timeline().Value(speed, runner_->now_ns()); };
  const double at_rest = value();
  handler_->Reply(ParseRequest("set engine_speed 900 rpm"), 7);
  GoOnMs(10);
  handler_->Gone(8);  // somebody else
  EXPECT_EQ(value(), 900);
  handler_->Gone(7);
  EXPECT_EQ(value(), at_rest);
}

TEST_F(HandlerTest, WhoeverDroveLastIsTheOneWhoHolds) {
  const int speed = profile::IndexOf(bench_.stimuli, "engine_speed");
  handler_->Reply(ParseRequest("set engine_speed 900 rpm"), 7);
  handler_->Reply(ParseRequest("set engine_speed 1200 rpm"), 8);
  handler_->Gone(7);
  EXPECT_EQ(runner_->timeline().Value(speed, runner_->now_ns()), 1200);
}

TEST_F(HandlerTest, WhatWasLeftEndsAtTheLongestDrive) {
  handler_.emplace(
      bench_, *runner_, interfaces_, [] {}, [] { return Kept(); }, 50 * kNsPerMs);
  const int speed = profile::IndexOf(bench_.stimuli, "engine_speed");
  const auto value = [&] { return runner_->timeline().Value(speed, runner_->now_ns()); };
  const double at_rest = value();
  handler_->Reply(ParseRequest("leave set engine_speed 900 rpm"), 7);
  handler_->Gone(7);
  GoOnMs(49);
  handler_->EndOverdue();
  EXPECT_EQ(value(), 900);
  GoOnMs(1);
  handler_->EndOverdue();
  EXPECT_EQ(value(), at_rest);
}

TEST_F(HandlerTest, CrankTurnsAsAStarterDoesAndEndsWithItsClient) {
  EXPECT_EQ(Ask("crank 220 rpm")["stimulus"], "engine_speed");
  EXPECT_EQ(runner_->timeline().track(0).kind, profile::DriveKind::kCrank);
  EXPECT_EQ(runner_->timeline().Value(0, runner_->now_ns()), 220);
  EXPECT_FALSE(Ask("crank 90 degC")["ok"]);
  handler_->Gone(1);
  EXPECT_EQ(runner_->timeline().Value(0, runner_->now_ns()), 0);
  EXPECT_EQ(runner_->timeline().track(0).kind, profile::DriveKind::kHold);
}

TEST_F(HandlerTest, StatusAndWatchShowTheEngineAsTheControllerSeesIt) {
  EXPECT_EQ(Ask("watch")["problem"], "nothing to watch: no stand-in plays the controller");
  EngineView view(bench_);
  runner_->AddObserver(&view);
  handler_->Show(view);
  nlohmann::json said = Ask("status")["controller"];
  EXPECT_EQ(said["in_words"], "stopped");
  EXPECT_TRUE(said["edges"]["crank"]["last_s"].is_null());
  EXPECT_TRUE(said["cam_angles_deg"]["cam_intake"].is_null());
  EXPECT_TRUE(said["edges"]["cam_intake"]["high"].is_null());  // not known before the first edge

  EXPECT_TRUE(Ask("set engine_speed 1200 rpm")["ok"]);
  GoOnMs(1000);
  said = Ask("watch every 100 ms")["controller"];
  EXPECT_EQ(said["state"], "synchronised");
  EXPECT_EQ(said["in_words"], "synchronised at 1200 r/min, never lost");
  EXPECT_NEAR(said["speed_rpm"], 1200, 2);
  EXPECT_NEAR(said["cam_angles_deg"]["cam_intake"], 0, 0.5);
  EXPECT_TRUE(said["edges"]["cam_intake"]["high"].is_boolean());
  // 20 turns a second, 58 teeth in each, two edges of each tooth.
  EXPECT_NEAR(said["edges"]["crank"]["count"].get<double>(), 20 * 58 * 2, 2 * 58);
  EXPECT_NEAR(said["edges"]["crank"]["last_s"], 1.0, 0.011);
  // Ten cycles, of which the first is spent on synchronising.
  for (const char* cylinder : {"1", "2", "3", "4"}) {
    EXPECT_NEAR(said["sparks"][cylinder]["count"].get<double>(), 9, 1.1) << cylinder;
    EXPECT_NEAR(said["injections"][cylinder]["count"].get<double>(), 9, 1.1) << cylinder;
  }
  EXPECT_TRUE(Ask("fault {name: away, kind: open, at: CKP.1}")["ok"]);
  GoOnMs(1000);
  said = nlohmann::json::parse(handler_->Watched());
  EXPECT_EQ(said["faults"][0], "away");
  EXPECT_NE(said["controller"]["state"], "synchronised");
  EXPECT_TRUE(said["controller"]["cam_angles_deg"]["cam_intake"].is_null());
  EXPECT_FALSE(Ask("watch every 1 us")["ok"]);
}

TEST(EngineInWords, SayStateSpeedReasonAndLosses) {
  using standin::SyncReason;
  using standin::SyncState;
  EXPECT_EQ(InWords(SyncState::kSynchronised, SyncReason::kNone, 902.6, 0),
            "synchronised at 903 r/min, never lost");
  EXPECT_EQ(InWords(SyncState::kSynchronised, SyncReason::kNone, 900, 1),
            "synchronised at 900 r/min, lost once");
  EXPECT_EQ(InWords(SyncState::kSearching, SyncReason::kGapNotFound, 180, 3),
            "searching at 180 r/min: gap not found, lost 3 times");
  EXPECT_EQ(InWords(SyncState::kStopped, SyncReason::kNoTeeth, 0, 0), "stopped: no teeth");
}

// A bus whose hardware was replaced while it ran.
class Replaced : public bus::InprocBus {
 public:
  using InprocBus::InprocBus;
  bool IsVirtual() const override { return false; }
  std::vector<bus::Driven> Drives() const override {
    return {{5, "can0", "can", ""}, {6, "can1", "can", "can0, by a gateway job to can1"}};
  }
  void Arm() override { armed_ = true; }
  bool IsArmed() const override { return armed_; }

 private:
  bool armed_ = false;
};

TEST_F(HandlerTest, ArmingNamesAllThatWouldBeDriven) {
  EXPECT_EQ(Ask("arm can0 by Kim")["problem"], "nothing waits to be armed");
  VirtualClock clock;
  Replaced outside(std::make_shared<bus::InprocHub>(clock));
  interfaces_.push_back(&outside);
  EXPECT_EQ(Ask("arm can0 by Kim")["problem"], "not named: what would be driven is can0, can1; when the bench is safe: arm can0,can1 by NAME");
  EXPECT_EQ(Ask("arm can by Kim")["ok"], false);
  EXPECT_FALSE(outside.IsArmed());
  EXPECT_EQ(Ask("status")["buses"]["vehicle"]["armed"], false);
  EXPECT_EQ(Ask("arm can0,can1 by Kim")["armed"], "can0, can1");
  EXPECT_TRUE(outside.IsArmed());
  EXPECT_EQ(Ask("status")["buses"]["vehicle"]["armed"], true);
  interfaces_.clear();
}

// A name that is none beside names that are: nothing of it is armed, and nothing is kept.
TEST_F(HandlerTest, ArmingRefusesAWholeRequestForOneWrongName) {
  VirtualClock clock;
  Replaced outside(std::make_shared<bus::InprocHub>(clock));
  interfaces_.push_back(&outside);
  std::vector<std::string> kept;
  handler_->KeepArmed([&](const std::vector<bus::Driven>& what, const std::string& by) {
    kept.push_back(bus::NamesOf(what) + " by " + by);
  });
  for (const char* wrong : {"can0,can1,blah", "blah", "blah,can0", "can0,,can1", "can0,can1,"}) {
    const nlohmann::json refused = Ask(std::string("arm ") + wrong + " by Kim");
    EXPECT_EQ(refused["ok"], false) << wrong;
    EXPECT_THAT(refused["problem"].get<std::string>(),
                testing::AllOf(testing::HasSubstr("there is no hardware '"),
                               testing::HasSubstr("nothing was armed; there is: can0, can1")));
    EXPECT_FALSE(outside.IsArmed()) << wrong;
  }
  EXPECT_TRUE(kept.empty());
  EXPECT_EQ(Ask("arm can1,can0 by Kim")["ok"], true);
  EXPECT_EQ(kept, std::vector<std::string>{"can0, can1 by Kim"});
  interfaces_.clear();
}

TEST_F(HandlerTest, StatusSaysWhatIsNotRecorded) {
  EXPECT_EQ(Ask("status")["record"]["trouble"], "");
  handler_.emplace(
      bench_, *runner_, interfaces_, [] {},
      [] { return Kept{"out", "", "disk full", "", "", 1000, 3600, 50}; });
  const nlohmann::json record = Ask("status")["record"];
  EXPECT_EQ(record["folder"], "out");
  EXPECT_EQ(record["trouble"], "disk full");
  EXPECT_EQ(record["bytes"], 1000);
  EXPECT_EQ(record["bytes_per_hour"], 3600);
  EXPECT_EQ(record["disk_left_bytes"], 50);
}

}  // namespace
}  // namespace drycrank::daemon
