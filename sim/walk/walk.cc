// SPDX-License-Identifier: Apache-2.0
#include "walk/walk.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <variant>

#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/state_names.h"
#include "profile/triggers.h"
#include "profile/wire_ends.h"
#include "types/nth.h"
#include "walk/bus_questions.h"
#include "walk/degrees.h"
#include "walk/device_wires.h"
#include "walk/display_follows.h"
#include "walk/display_talks.h"
#include "walk/gaps.h"
#include "walk/values.h"

namespace drycrank::walk {
namespace {

using profile::Bench;
using profile::Drive;
using profile::DriveKind;
using profile::Expectation;
namespace expect = profile::expect;
using profile::Sensor;
using profile::Step;

// Long enough for filters, range faults, pulse time-outs and the slowest message.
// Without an engine, the displays are judged at rest alone.
constexpr double kRestAloneS = 3;
constexpr double kRestS = 2, kHoldS = 1.5, kEngineS = 3, kStopS = 0.8;
constexpr double kCrankingRpm = 250, kRunningRpm = 1500;
constexpr double kSettleS = 1.2, kEngineSettleS = 2;
constexpr double kJudgedPeriods = 2.5;
// Of a sensor's span. At rest each has another of six values between, so that up to six of one
// kind in a row do not agree.
constexpr double kLow = 0.12, kMiddle = 0.62, kHigh = 0.9, kRestFirst = 0.3, kRestStep = 0.05;
constexpr int kRestValues = 6;
constexpr double kToleranceShare = 0.03;
// What the controller must have of the volts of its supply; and of the least that may give, where
// that is less: 0.7 % for the wires (common practice, no source).
constexpr double kLeastOfSupply = 0.93, kThroughWires = 0.993;
constexpr int kPositionKnown = 2, kSynchronised = 3;  // standin/controller.h
constexpr const char* kNotDriven =
    "no output drives this wire of a real controller; take the meter";

bool IsOnOff(const Sensor& sensor) {
  return profile::GivenBy(sensor.model) == profile::Gives::kOnOff;
}

class Builder {
 public:
  Builder(const Bench& bench, const Reach& reach) : bench_(bench), reach_(reach) {
    walk_.reach = reach;
  }

  Walk Build() {
    scenario_.name = "walk";
    scenario_.title = "Walk through every circuit of " + bench_.title;
    AddStep("at_rest",
            Lasting(bench_.triggers.empty() ? kRestAloneS : kRestS, kSettleS, RestPeriodS()));
    Rest();
    for (Expectation& e : ControllerTalks(bench_)) scenario_.expectations.push_back(std::move(e));
    for (const Sensor& sensor : bench_.sensors) {
      if (sensor.fitted && !Reaches(sensor)) {
        reason_[sensor.name] = kNotDriven;
      } else if (sensor.fitted && !profile::IsFeedSwitch(bench_, sensor)) {
        DriveSensor(sensor);
      }
    }
    if (!bench_.triggers.empty() && EngineReaches(bench_, reach_)) TurnEngine();
    for (const profile::Trigger& trigger : bench_.triggers) {
      if (!reach_.Has(trigger.name)) reason_[trigger.name] = kNotDriven;
    }
    for (Expectation& e : DisplayFollows(bench_, scenario_.expectations)) {
      scenario_.expectations.push_back(std::move(e));
    }
    for (Expectation& e : DisplayTalks(bench_)) scenario_.expectations.push_back(std::move(e));
    ExpectSupply();
    ExpectOutputs();
    ListUnproven(bench_, reason_, walk_);
    return std::move(walk_);
  }

 private:
  bool Reaches(const Sensor& sensor) const { return SensorReaches(bench_, reach_, sensor); }

  Step& AddStep(const std::string& name, double for_s) {
    Step step;
    step.name = name;
    step.for_s = for_s;
    scenario_.steps.push_back(step);
    return scenario_.steps.back();
  }

  // So long that each step is judged by two messages at least, however slowly they come.
  static double Lasting(double usual_s, double settle_s, double period_s) {
    return std::max(usual_s, settle_s + kJudgedPeriods * period_s);
  }
  // Of all that is judged at rest.
  double RestPeriodS() const {
    double slowest_s = std::max(SlowestPeriodS(bench_, -1),
                                PeriodS(bench_, CarryingSignal(bench_, "supply_voltage")));
    for (const profile::ControllerOutput& output : bench_.controller->outputs) {
      slowest_s = std::max(slowest_s, PeriodS(bench_, output.signal));
    }
    return slowest_s;
  }
  double EnginePeriodS() const {
    double slowest_s = 0;
    for (const char* value : {"engine_speed", "sync_state"}) {
      slowest_s = std::max(slowest_s, PeriodS(bench_, CarryingSignal(bench_, value)));
    }
    for (const auto& trigger : bench_.controller->triggers) {
      const std::string signal = CarryingSignal(bench_, "cam_angle." + trigger.name);
      slowest_s = std::max(slowest_s, PeriodS(bench_, signal));
    }
    return slowest_s;
  }

  void Hold(Step& step, int stimulus, double value) const {
    Drive drive;
    drive.place = {bench_.file, 1, 1};
    drive.stimulus = stimulus;
    drive.kind = DriveKind::kHold;
    drive.to = value;
    step.drives.push_back(drive);
  }

  void Rest() {
    rest_.assign(bench_.stimuli.size(), std::nan(""));
    for (std::size_t i = 0; i < bench_.sensors.size(); ++i) {
      const Sensor& sensor = bench_.sensors[i];
      if (!sensor.fitted || IsOnOff(sensor)) continue;
      if (!Reaches(sensor)) continue;
      const double share = kRestFirst + kRestStep * static_cast<double>(i % kRestValues);
      Nth(rest_, sensor.stimulus) = SpanOf(bench_, sensor).At(share);
    }
    for (std::size_t i = 1; i < rest_.size(); ++i) {
      if (!std::isnan(rest_[i])) Hold(scenario_.steps[0], static_cast<int>(i), rest_[i]);
    }
  }

  double RestOf(int stimulus) const {
    const double rest = Nth(rest_, stimulus);
    return std::isnan(rest) ? Nth(bench_.stimuli, stimulus).initial : rest;
  }

  void DriveSensor(const Sensor& sensor) {
    if (!driven_.insert(sensor.stimulus).second) {
      ExpectSensor(sensor);
      return;
    }
    const Span span = SpanOf(bench_, sensor);
    const double hold_s = Lasting(kHoldS, kSettleS, SlowestPeriodS(bench_, sensor.stimulus));
    Hold(AddStep(sensor.name + "_low", hold_s), sensor.stimulus, span.At(kLow));
    Hold(AddStep(sensor.name + "_middle", hold_s), sensor.stimulus, span.At(kMiddle));
    Hold(AddStep(sensor.name + "_high", hold_s), sensor.stimulus, span.At(kHigh));
    if (const auto* pulses = std::get_if<profile::FrequencySensor>(&sensor.model);
        pulses != nullptr && pulses->width_stimulus >= 0) {
      const profile::Stimulus& width = Nth(bench_.stimuli, pulses->width_stimulus);
      Hold(AddStep(sensor.name + "_width_high", hold_s), pulses->width_stimulus,
           width.min + kHigh * (width.max - width.min));
    }
    ExpectSensor(sensor);
    // Back to rest with the next step's begin, so that one thing differs from rest at a time.
    Hold(AddStep(sensor.name + "_back", 0.5), sensor.stimulus, RestOf(sensor.stimulus));
  }

  void TurnEngine() {
    const double turn_s = Lasting(kEngineS, kEngineSettleS, EnginePeriodS());
    Hold(AddStep("cranking", turn_s), 0, kCrankingRpm);
    Stop();
    Hold(AddStep("running", turn_s), 0, kRunningRpm);
    std::set<int> moved;
    for (const profile::Trigger& trigger : bench_.triggers) {
      const int stimulus = trigger.advance_stimulus;
      if (stimulus < 0 || !moved.insert(stimulus).second) continue;
      const profile::Stimulus& s = Nth(bench_.stimuli, stimulus);
      Stop();
      Step& step = AddStep(trigger.name + "_advanced", turn_s);
      Hold(step, stimulus, s.min + kHigh * (s.max - s.min));
      Hold(step, 0, kRunningRpm);
    }
    ExpectEngine();
  }

  // Between two speeds, so that the controller finds its position each time anew and nothing is
  // carried over.
  void Stop() { Hold(AddStep(fmt::format("stopped_{}", ++stops_), kStopS), 0, 0); }

  const profile::Signal& SignalAt(const profile::SignalRef& ref) const {
    return profile::SignalAt(bench_, ref);
  }

  void ExpectFollows(const std::string& name, const std::string& signal, int stimulus,
                     double tolerance, double settle_s, std::vector<std::string> proves,
                     const std::string& means) {
    Expectation e;
    e.name = name;
    const profile::SignalRef at = profile::FindSignal(bench_, signal);
    const profile::Stimulus& s = Nth(bench_.stimuli, stimulus);
    const bool absolute = s.reference == profile::PressureReference::kGauge &&
                          IsAbsolute(bench_, SignalAt(at).carries);
    e.kind = expect::Follows{at, signal, {stimulus, std::nullopt, tolerance, absolute}};
    e.settle_s = settle_s;
    e.proves = std::move(proves);
    e.means = means;
    scenario_.expectations.push_back(std::move(e));
  }

  void ExpectSensor(const Sensor& sensor) {
    const std::vector<std::string> circuits = CircuitsOf(bench_, Terminals(sensor.model));
    for (const std::string& channel : ChannelsOf(bench_, sensor)) {
      const std::string signal = CarryingSignal(bench_, channel);
      if (signal.empty()) {
        reason_[sensor.name] = "no message carries " + channel;
        continue;
      }
      const bool is_width = IsWidthChannel(bench_, channel);
      const auto* pulses = std::get_if<profile::FrequencySensor>(&sensor.model);
      const int stimulus = is_width && pulses != nullptr ? pulses->width_stimulus : sensor.stimulus;
      if (stimulus < 0) continue;
      const profile::Stimulus& s = Nth(bench_.stimuli, stimulus);
      const double tolerance = IsOnOff(sensor) ? 0.5 : kToleranceShare * (s.max - s.min);
      ExpectFollows(sensor.name + "_" + channel, signal, stimulus, tolerance, kSettleS, circuits,
                    fmt::format("The controller does not see {}. Look at sensor {} and its wires.",
                                s.label.empty() ? s.name : s.label, sensor.name));
    }
  }

  std::vector<std::string> EngineSteps() const {
    std::vector<std::string> names;
    for (const Step& step : scenario_.steps) {
      if (step.name == "cranking" || step.name == "running" || step.name.ends_with("_advanced")) {
        names.push_back(step.name);
      }
    }
    return names;
  }

  void ExpectEngine() {
    const profile::Decoder& decoder = bench_.controller->decoder;
    const std::vector<std::string> during = EngineSteps();
    std::vector<std::string> crank;
    std::vector<std::string> all;
    for (std::size_t i = 0; i < bench_.controller->triggers.size(); ++i) {
      const std::vector<std::string> circuits =
          CircuitsToInput(bench_, bench_.controller->triggers[i].terminal);
      all.insert(all.end(), circuits.begin(), circuits.end());
      if (static_cast<int>(i) == decoder.primary) crank = circuits;
    }
    if (const std::string speed = CarryingSignal(bench_, "engine_speed"); !speed.empty()) {
      ExpectFollows(
          "engine_speed", speed, 0, 30, kEngineSettleS, crank,
          "The engine speed that the controller reads is not the one put in at the crank sensor.");
      scenario_.expectations.back().during = during;
    }
    const bool all_fitted = AllWheelsReach(bench_, reach_);
    const std::string sync = CarryingSignal(bench_, "sync_state");
    if (!sync.empty() && all_fitted) {
      // Of four strokes, a crank alone tells the position to a turn.
      const bool whole = decoder.strokes == 2 || profile::PhaseCam(*bench_.controller) >= 0;
      const int state = whole ? kSynchronised : kPositionKnown;
      Expectation e;
      e.name = whole ? "synchronised" : "position_known";
      const profile::SignalRef at = profile::FindSignal(bench_, sync);
      const auto& names = profile::NamesOfValues(SignalAt(at));
      const auto word = names.find(state);
      e.kind = expect::Always{
          {at,
           fmt::format("{} equals {}{}", sync, state,
                       word == names.end() ? "" : fmt::format(" ({})", word->second)),
           profile::Compare::kEqual, static_cast<double>(state)}};
      e.during = during;
      e.settle_s = kEngineSettleS;
      e.proves = all;
      e.means =
          "The controller does not find the engine's position. Look at the crank and cam sensors.";
      scenario_.expectations.push_back(std::move(e));
    }
    for (const int cam : decoder.cams) {
      if (all_fitted) ExpectCam(cam, during);
    }
    // Nobody sees edges at the pins and sparks of a controller that is not inside.
    if (all_fitted && reach_.all) ExpectDegrees(during);
  }

  void ExpectDegrees(const std::vector<std::string>& during) {
    for (Expectation& e : DegreeExpectations(bench_)) {
      e.during = during;
      e.settle_s = kEngineSettleS;
      scenario_.expectations.push_back(std::move(e));
    }
  }

  void ExpectCam(int cam, const std::vector<std::string>& during) {
    const std::string& name = Nth(bench_.controller->triggers, cam).name;
    const std::string angle = CarryingSignal(bench_, "cam_angle." + name);
    const int trigger = profile::IndexOf(bench_.triggers, name);
    if (angle.empty()) return;
    Expectation e;
    e.name = "cam_angle_" + name;
    expect::Target target;
    target.stimulus = trigger < 0 ? -1 : Nth(bench_.triggers, trigger).advance_stimulus;
    if (target.stimulus < 0) target.value = 0;
    target.tolerance = 2;
    e.kind = expect::Follows{profile::FindSignal(bench_, angle), angle, target};
    e.settle_s = kEngineSettleS;
    e.during = during;
    e.means = "The cam is at the wrong angle to the crank.";
    scenario_.expectations.push_back(std::move(e));
  }

  void ExpectSupply() {
    const std::string supply = CarryingSignal(bench_, "supply_voltage");
    const profile::Controller& controller = *bench_.controller;
    const std::vector<std::string> circuits =
        CircuitsOf(bench_, {controller.supply, controller.ground});
    Expectation e;
    e.name = "supply";
    e.proves = circuits;
    e.settle_s = 0.5;
    e.means = "The controller measures too little of its own supply.";
    if (!supply.empty() && !bench_.supplies.empty()) {
      const profile::Supply& source = bench_.supplies[0];
      const double least_v =
          std::min(kLeastOfSupply * source.voltage_v,
                   kThroughWires * (source.voltage_v - source.tolerance_v));
      e.kind = expect::Always{{profile::FindSignal(bench_, supply),
                               fmt::format("{} is above {:.4g} V", supply, least_v),
                               profile::Compare::kAbove, least_v}};
      scenario_.expectations.push_back(std::move(e));
    }
  }

  // An output that the controller watches: while it is made to act, or at rest when nothing makes
  // it.
  void ExpectOutputs() {
    const std::set<std::string> elsewhere = ProvenBy(scenario_.expectations);
    for (const profile::ControllerOutput& output : bench_.controller->outputs) {
      if (!output.fitted || output.witness != profile::OutputWitness::kBus) continue;
      const bool acts = std::all_of(output.driven_by.begin(), output.driven_by.end(),
                                    [this](const auto& drive) { return StimulusReaches(bench_, reach_, drive.first); });
      if (!acts) continue;
      std::string step = "at_rest";
      if (!output.driven_by.empty()) {
        step = "output_" + output.name;
        Step& act = AddStep(step, Lasting(kEngineS, kSettleS, PeriodS(bench_, output.signal)));
        for (const auto& [stimulus, value] : output.driven_by) Hold(act, stimulus, value);
        Step& back = AddStep(step + "_back", kStopS);
        for (const auto& [stimulus, value] : output.driven_by) {
          Hold(back, stimulus, stimulus == 0 ? 0 : RestOf(stimulus));
        }
      }
      for (Expectation& e : ExpectationsOf(bench_, output, elsewhere)) {
        e.during = {step};
        e.settle_s = kSettleS;
        scenario_.expectations.push_back(std::move(e));
      }
    }
    walk_.questions = QuestionsOf(bench_, elsewhere);
    for (WalkQuestion& question : BusQuestions(bench_)) {
      walk_.questions.push_back(std::move(question));
    }
  }

  const Bench& bench_;
  const Reach& reach_;
  Walk walk_;
  profile::Scenario& scenario_ = walk_.scenario;
  std::vector<double> rest_;
  std::set<int> driven_;
  int stops_ = 0;
  std::map<std::string, std::string> reason_;  // by sensor
};

}  // namespace

Walk MakeWalk(const Bench& bench, const Reach& reach) {
  return Builder(bench, reach).Build();
}

}  // namespace drycrank::walk
