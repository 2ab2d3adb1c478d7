// SPDX-License-Identifier: Apache-2.0
//
// Five fixed jobs whose instructions are counted (instructions_test.py). What a job needs is made
// first; what it costs is spent in CountedWork alone, which the counting program knows by its name.
//
//   instruction_jobs JOB
//     load       the hill-climb bench from its files
//     run        that bench for 2 s at 6000 r/min with its checker, in virtual time, no record
//     diagnose   what a bench with an open coolant sensor showed in the first steps of its walk
//     large      all single faults of an invented harness of 50 circuits, one of its wires open
//     frames     4000 frames laid out, written as a recording, read back and decoded
//
// Exits 1 when a job did not do what it should: then its count means nothing.
#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "bus/layout.h"
#include "bus/pcapng.h"
#include "diagnose/rank.h"
#include "profile/load.h"
#include "run/runner.h"
#include "study/play.h"
#include "study/readings.h"
#include "tests/diagnose/large_bench.h"
#include "types/clock.h"
#include "types/random.h"
#include "walk/walk.h"

extern "C" [[gnu::noinline]] void CountedWork(const std::function<void()>& work) {
  work();
  asm volatile("");  // it returns here, rather than jumping there
}

namespace drycrank {
namespace {

constexpr double kRunS = 2;
constexpr std::size_t kWalkSteps = 6;
constexpr int kFrames = 4000, kLargeCircuits = 50;

std::string Profile(const std::string& name) { return DRYCRANK_PROFILES_DIR "/" + name + ".yaml"; }

profile::Bench HillClimb() {
  return profile::LoadBench(Profile("benches/hill_climb")).bench.value();
}

bool Load() {
  bool whole = false;
  CountedWork([&] { whole = profile::LoadBench(Profile("benches/hill_climb")).bench.has_value(); });
  return whole;
}

bool Run() {
  profile::LoadedScenario loaded = profile::LoadScenario(Profile("scenarios/hill_climb/healthy"));
  loaded.bench->stimuli[0].initial = 6000;
  profile::Scenario scenario = *loaded.scenario;
  scenario.steps.resize(1);
  scenario.steps[0].for_s = kRunS;
  VirtualClock clock;
  study::PlayOptions options;
  options.clock = &clock;
  options.pictures = false;
  study::PlayResult result;
  CountedWork([&] { result = study::Play(*loaded.bench, scenario, options); });
  return result.report.duration_ns == FromSeconds(kRunS) && result.frames > 100;
}

bool Diagnose() {
  const profile::Bench bench = HillClimb();
  profile::Scenario scenario = walk::MakeWalk(bench).scenario;
  scenario.steps.resize(kWalkSteps);
  scenario.expectations.clear();
  profile::Fault& open = scenario.faults.emplace_back();
  open.kind = profile::fault::Open{};
  open.name = open.at = "CLT.1";
  run::Runner runner(bench, scenario, {});
  study::Readings readings(bench, scenario, runner.timeline());
  runner.AddObserver(&readings);
  runner.Start();
  while (!runner.finished()) runner.RunTo(runner.NextDueNs());
  diagnose::Diagnosis diagnosis;
  CountedWork([&] {
    diagnose::Predictor predictor(bench, readings.situations());
    diagnosis = diagnose::Ranker(bench, predictor).Rank(readings.observation(), {.doubles = false});
  });
  const auto holds_it = [](const diagnose::Candidate& candidate) {
    return candidate.hypothesis.faults[0].at == "CLT.1";
  };
  return diagnosis.explained && std::ranges::any_of(diagnosis.groups[0].members, holds_it);
}

bool Large() {
  const diagnose::LargeBench large(kLargeCircuits);
  profile::Fault open;
  open.kind = profile::fault::Open{};
  open.name = open.at = "g0s0_signal";
  diagnose::Diagnosis diagnosis;
  {
    diagnose::Predictor predictor(large.bench(), large.situations());
    diagnose::Ranker ranker(large.bench(), predictor);
    Random random(1, kLargeCircuits);
    const auto observed = diagnose::ReadWithNoise(
        predictor, diagnose::AsSeen(predictor.Predict(std::vector{open})), random);
    CountedWork([&] { diagnosis = ranker.Rank(observed, {.doubles = false}); });
  }
  const auto holds_it = [](const diagnose::Candidate& candidate) {
    const std::string& at = candidate.hypothesis.faults[0].at;
    return at == "g0s0_signal" || at.starts_with("Sg0s0");
  };
  return diagnosis.explained && std::ranges::any_of(diagnosis.groups[0].members, holds_it);
}

// Every message of the bench in turn, its values moving.
double EncodeWriteReadDecode(const std::vector<profile::Message>& messages) {
  fmt::memory_buffer written;
  bus::AppendPcapngSection(written);
  bus::AppendPcapngInterface("vehicle", written);
  for (int i = 0; i < kFrames; ++i) {
    const profile::Message& message = messages[static_cast<std::size_t>(i) % messages.size()];
    const std::vector<double> values(message.signals.size(), i % 100);
    bus::RecordedFrame frame;
    frame.t_ns = i * kNsPerMs;
    frame.frame = bus::Encode(message, values, static_cast<std::uint64_t>(i));
    bus::AppendPcapngFrame(frame, written);
  }
  std::istringstream stream(fmt::to_string(written));
  bus::RecordingReader reader(stream);
  double decoded = 0;
  for (bus::RecordedFrame frame; reader.Next(frame);) {
    for (const profile::Message& message : messages) {
      if (!bus::Matches(message, frame.frame)) continue;
      for (std::size_t s = 0; s < message.signals.size(); ++s) {
        decoded += bus::Decode(message, static_cast<int>(s), frame.frame).has_value();
      }
    }
  }
  return decoded;
}

bool Frames() {
  const std::vector<profile::Message> messages = HillClimb().buses[0].messages;
  double decoded = 0;
  CountedWork([&] { decoded = EncodeWriteReadDecode(messages); });
  return decoded >= kFrames;
}

int Main(std::string_view job) {
  const bool done = job == "load"       ? Load()
                    : job == "run"      ? Run()
                    : job == "diagnose" ? Diagnose()
                    : job == "large"    ? Large()
                    : job == "frames"   ? Frames()
                                        : false;
  if (!done) fmt::print("instruction_jobs: {} did not do what it should\n", job);
  return done ? 0 : 1;
}

}  // namespace
}  // namespace drycrank

int main(int argc, char** argv) { return argc == 2 ? drycrank::Main(argv[1]) : 2; }
