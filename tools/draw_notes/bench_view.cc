// SPDX-License-Identifier: Apache-2.0
#include "tools/draw_notes/bench_view.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "profile/triggers.h"
#include "run/observer.h"
#include "run/runner.h"
#include "standin/conversion.h"
#include "types/nth.h"

namespace drycrank::tools {

// Keeps what the runner shows.
class BenchView::Probe : public run::RunObserver {
 public:
  Probe(BenchView& view, const run::Runner& runner) : view_(view), runner_(runner) {}

  void OnWave(int input, const Wave& piece) override {
    Nth(view_.waves_, input).push_back(piece);
    NoteSpeed(piece.begin_ns);
  }
  void OnEdge(const Edge& edge) override { Nth(view_.edges_, edge.channel).push_back(edge); }
  void OnSample(TimeNs t_ns) override {
    NoteSpeed(t_ns);
    if (view_.synchronised_ns_ == kNever &&
        runner_.controller()->sync_state() == standin::SyncState::kSynchronised) {
      view_.synchronised_ns_ = t_ns;
    }
  }

 private:
  void NoteSpeed(TimeNs t_ns) {
    if (t_ns < view_.window_.begin_ns || t_ns > view_.window_.end_ns) return;
    view_.speed_.emplace_back(t_ns, runner_.plant().motion().SpeedRpmAt(t_ns));
  }

  BenchView& view_;
  const run::Runner& runner_;
};

BenchView::BenchView(const std::string& bench_file) {
  profile::LoadedBench loaded = profile::LoadBench(bench_file);
  std::string problems;
  for (const Diagnostic& problem : loaded.problems) problems += Format(problem) + "\n";
  if (!loaded.bench) throw std::runtime_error(problems);
  bench_ = std::move(*loaded.bench);
}

void BenchView::Play(const Conditions& conditions, study::ScopeWindow window) {
  speed_rpm_ = conditions.speed_rpm;
  window_ = window;
  waves_.assign(bench_.controller->inputs.size(), {});
  edges_.assign(bench_.controller->triggers.size(), {});
  speed_.clear();
  synchronised_ns_ = kNever;

  profile::Scenario scenario;
  scenario.faults = conditions.faults;
  scenario.steps.resize(1);
  scenario.steps[0].for_s = ToSeconds(window.end_ns);
  profile::Drive crank;
  crank.kind = conditions.cranking ? profile::DriveKind::kCrank : profile::DriveKind::kHold;
  crank.to = conditions.speed_rpm;
  scenario.steps[0].drives.push_back(crank);
  for (const auto& [name, value] : conditions.stimuli) {
    profile::Drive drive;
    drive.stimulus = profile::IndexOf(bench_.stimuli, name);
    drive.to = value;
    scenario.steps[0].drives.push_back(drive);
  }
  run::Runner runner(bench_, scenario, {});
  Probe probe(*this, runner);
  runner.AddObserver(&probe);
  runner.Start();
  runner.RunTo(window.end_ns);
}

int BenchView::Input(const std::string& terminal) const {
  const int input = standin::InputIndex(*bench_.controller, terminal);
  if (input < 0) throw std::runtime_error("no input " + terminal);
  return input;
}

int BenchView::Channel(const std::string& trigger) const {
  const int channel = profile::IndexOf(bench_.controller->triggers, trigger);
  if (channel < 0) throw std::runtime_error("no trigger " + trigger);
  return channel;
}

report::ScopeChannel BenchView::Volts(const std::string& name, const std::string& terminal) const {
  return {name, "V", false, study::LinePoints(Nth(waves_, Input(terminal)), window_)};
}

report::ScopeChannel BenchView::TriggerVolts(const std::string& trigger) const {
  const auto& config = Nth(bench_.controller->triggers, Channel(trigger));
  report::ScopeChannel out = Volts(config.name + " at the controller", config.terminal);
  out.levels = study::LevelsOf(config);
  return out;
}

report::ScopeChannel BenchView::Logic(const std::string& name, const std::string& trigger) const {
  report::ScopeChannel out{name, "", true, {}};
  for (const Edge& edge : Nth(edges_, Channel(trigger))) {
    out.points.emplace_back(edge.t_ns, edge.high ? 1.0 : 0.0);
  }
  return out;
}

report::ScopeChannel BenchView::Speed() const { return {"speed", "r/min", false, speed_}; }

namespace {

// Instants at which `angle_deg` of a wheel passes its sensor, within the window and a turn around.
std::vector<TimeNs> Passes(const profile::Trigger& trigger, double angle_deg, double speed_rpm,
                           study::ScopeWindow window) {
  const double shaft = trigger.shaft == profile::Shaft::kCam ? 2 : 1;  // crank per shaft degree
  const double deg_per_s = speed_rpm * 6;
  const double turn_deg = 360 * shaft;
  const double first_deg = std::fmod(trigger.offset_deg + angle_deg * shaft, turn_deg) - turn_deg;
  std::vector<TimeNs> passes;
  for (double deg = first_deg; deg < ToSeconds(window.end_ns) * deg_per_s + turn_deg;
       deg += turn_deg) {
    passes.push_back(FromSeconds(deg / deg_per_s));
  }
  return passes;
}

}  // namespace

report::ScopeChannel BenchView::Metal(const std::string& trigger) const {
  const profile::Trigger& wheel = Nth(bench_.triggers, profile::IndexOf(bench_.triggers, trigger));
  report::ScopeChannel out{"metal in front of the sensor", "", true, {}};
  for (const Tooth& tooth : wheel.wheel.teeth) {
    for (const TimeNs t_ns : Passes(wheel, tooth.begin_deg, speed_rpm_, window_)) {
      out.points.emplace_back(t_ns, 1.0);
    }
    for (const TimeNs t_ns : Passes(wheel, tooth.end_deg, speed_rpm_, window_)) {
      out.points.emplace_back(t_ns, 0.0);
    }
  }
  std::sort(out.points.begin(), out.points.end());
  return out;
}

std::vector<TimeNs> BenchView::ToothCentres(const std::string& trigger) const {
  const profile::Trigger& wheel = Nth(bench_.triggers, profile::IndexOf(bench_.triggers, trigger));
  std::vector<TimeNs> centres;
  for (const Tooth& tooth : wheel.wheel.teeth) {
    const double centre_deg = (tooth.begin_deg + tooth.end_deg) / 2;
    for (const TimeNs t_ns : Passes(wheel, centre_deg, speed_rpm_, window_)) {
      if (t_ns >= window_.begin_ns && t_ns <= window_.end_ns) centres.push_back(t_ns);
    }
  }
  std::sort(centres.begin(), centres.end());
  return centres;
}

}  // namespace drycrank::tools
