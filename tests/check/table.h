// SPDX-License-Identifier: Apache-2.0
//
// A small invented bench on which checks are tried out. Frames are packed by hand, byte by byte, so
// that what is fed does not come from the code that reads it.
//
//   engine_status  0x100  10 ms   0 sync (0 stopped, 1 searching, 3 synchronised)
//                                 1-2 speed, 0.25 r/min
//                                 6 low nibble: rolling counter   7 checksum CRC-8/SAE-J1850
//   engine_temps   0x101  100 ms  0 coolant, raw - 40 degC   1-2 boost, 0.1 kPa   3 fuel, no unit
//   dash           0x200  50 ms   0-1 temperature shown, 0.1   2 state   3 unit: 0 degC, 1 degF
//                                 4-5 boost shown, 0.1 kPa (from the display)
#ifndef DRYCRANK_TESTS_CHECK_TABLE_H_
#define DRYCRANK_TESTS_CHECK_TABLE_H_

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <initializer_list>
#include <memory>
#include <string>

#include "check/checker.h"

namespace drycrank::check {

namespace expect = profile::expect;

inline TimeNs S(double seconds) { return FromSeconds(seconds); }
inline TimeNs Ms(double ms) { return FromMs(ms); }

class Table : public ::testing::Test {
 protected:
  static constexpr int kStatus = 0, kTemps = 1, kDash = 2;               // messages
  static constexpr int kSpeed = 0, kCoolant = 1, kBoost = 2, kFuel = 3;  // stimuli

  Table() {
    AddStimulus("engine_speed", "rpm", 0);
    AddStimulus("coolant_temperature", "degC", 20);
    AddStimulus("boost_pressure", "psi", 0);
    AddStimulus("fuel", "%", 50);
    bench_.buses.resize(1);
    bench_.buses[0].name = "vehicle";
    AddStatus();
    AddTemps();
    AddDash();
  }

  // ---- the scenario -----------------------------------------------------------------------------
  profile::Step& AddStep(const std::string& name, double for_s) {
    scenario_.steps.push_back({});
    scenario_.steps.back().name = name;
    scenario_.steps.back().for_s = for_s;
    return scenario_.steps.back();
  }
  static profile::Drive Hold(int stimulus, double to) {
    profile::Drive drive;
    drive.stimulus = stimulus;
    drive.to = to;
    return drive;
  }
  static profile::Drive Ramp(int stimulus, double to, double over_s) {
    profile::Drive drive = Hold(stimulus, to);
    drive.kind = profile::DriveKind::kRamp;
    drive.over_s = over_s;
    return drive;
  }
  // Adds an expectation; one about a message is about the status. Good until the next is added.
  template <class Kind>
  Kind& Expect() {
    Kind kind;
    if constexpr (requires { kind.message; }) kind.message = {0, kStatus};
    return scenario_.expectations.emplace_back().kind.emplace<Kind>(kind);
  }
  profile::Expectation& expectation() { return scenario_.expectations.back(); }
  static profile::Condition SyncIs(profile::Compare compare, double value) {
    profile::Condition condition;
    condition.signal = {0, kStatus, 0};
    condition.text = "the condition";
    condition.compare = compare;
    condition.value = value;
    return condition;
  }

  // ---- playing it -------------------------------------------------------------------------------
  void Begin(std::size_t step, TimeNs t_ns) {
    if (!timeline_) {
      timeline_ = std::make_unique<scenario::Timeline>(bench_, scenario_);
      checker_ = std::make_unique<Checker>(bench_, scenario_, *timeline_, silence_);
    }
    timeline_->BeginStep(step, t_ns);
    checker_->OnStep(step, t_ns);
  }
  void Receive(TimeNs t_ns, int message, std::initializer_list<int> bytes) {
    bus::TimedFrame frame;
    frame.t_ns = t_ns;
    const profile::Message& layout = bench_.buses[0].messages[static_cast<std::size_t>(message)];
    frame.frame.id = layout.id;
    frame.frame.length = static_cast<std::uint8_t>(layout.length_bytes);
    std::size_t i = 0;
    for (const int byte : bytes) frame.frame.data[i++] = static_cast<std::uint8_t>(byte);
    checker_->OnFrame(frame);
  }
  void Sync(TimeNs t_ns, int state) { Receive(t_ns, kStatus, {state}); }
  void Coolant(TimeNs t_ns, int degc) { Receive(t_ns, kTemps, {degc + 40}); }
  void BoostKpa(TimeNs t_ns, int tenths) { Receive(t_ns, kTemps, {0, tenths & 0xFF, tenths >> 8}); }
  // Tenths of a degree, state code, unit code.
  void Dash(TimeNs t_ns, int tenths, int state, int unit) {
    Receive(t_ns, kDash, {tenths & 0xFF, tenths >> 8, state, unit});
  }
  const Verdict& Finish(TimeNs t_ns) {
    checker_->Finish(t_ns);
    return checker_->verdicts().front();
  }

  profile::Bench bench_;
  profile::Scenario scenario_;
  std::unique_ptr<scenario::Timeline> timeline_;
  std::unique_ptr<Checker> checker_;
  Silence silence_ = Silence::kPassedOver;  // the frames of most tests are few

 private:
  void AddStimulus(const std::string& name, const std::string& unit, double initial) {
    profile::Stimulus stimulus;
    stimulus.name = name;
    stimulus.unit = unit;
    stimulus.initial = initial;
    bench_.stimuli.push_back(stimulus);
  }
  profile::Message& AddMessage(const std::string& name, std::uint32_t id, double period_ms,
                               profile::Sender sender) {
    profile::Message message;
    message.name = name;
    message.id = id;
    message.period_ms = period_ms;
    message.sender = sender;
    bench_.buses[0].messages.push_back(message);
    return bench_.buses[0].messages.back();
  }
  static profile::Signal& AddSignal(profile::Message& message, const std::string& name,
                                    int start_bit, int length_bits, double scale,
                                    const std::string& unit) {
    profile::Signal signal;
    signal.name = name;
    signal.start_bit = start_bit;
    signal.length_bits = length_bits;
    signal.scale = scale;
    signal.unit = unit;
    message.signals.push_back(signal);
    return message.signals.back();
  }
  void AddStatus() {
    profile::Message& status = AddMessage("engine_status", 0x100, 10, profile::Sender::kController);
    AddSignal(status, "sync", 0, 8, 1, "").values = {
        {0, "stopped"}, {1, "searching"}, {3, "synchronised"}};
    AddSignal(status, "speed", 8, 16, 0.25, "rpm");
    AddSignal(status, "counter", 48, 4, 1, "");
    AddSignal(status, "checksum", 56, 8, 1, "");
    status.counter_signal = 2;
    status.checksum_signal = 3;
    status.checksum = profile::ChecksumKind::kCrc8SaeJ1850;
  }
  void AddTemps() {
    profile::Message& temps = AddMessage("engine_temps", 0x101, 100, profile::Sender::kController);
    AddSignal(temps, "coolant", 0, 8, 1, "degC").offset = -40;
    AddSignal(temps, "boost", 8, 16, 0.1, "kPa");
    AddSignal(temps, "fuel", 24, 8, 1, "");
  }
  void AddDash() {
    profile::Message& dash = AddMessage("dash", 0x200, 50, profile::Sender::kDisplay);
    AddSignal(dash, "shown", 0, 16, 0.1, "").carries = "coolant.shown";
    AddSignal(dash, "state", 16, 8, 1, "").carries = "coolant.state";
    profile::Signal& unit = AddSignal(dash, "unit", 24, 8, 1, "");
    unit.carries = "coolant.unit";
    unit.values = {{0, "°C"}, {1, "degF"}};
    AddSignal(dash, "boost", 32, 16, 0.1, "").carries = "boost.shown";
    bench_.display.emplace();
    bench_.display->gauges.resize(2);
    profile::Gauge& coolant = bench_.display->gauges[0];
    coolant.name = "coolant";
    coolant.message = "engine_temps";
    coolant.signal = "coolant";
    coolant.unit = "degC";
    profile::Gauge& boost = bench_.display->gauges[1];
    boost.name = "boost";
    boost.message = "engine_temps";
    boost.signal = "boost";
    boost.unit = "kPa";
    boost.decimals = 1;
  }
};

}  // namespace drycrank::check

#endif  // DRYCRANK_TESTS_CHECK_TABLE_H_
