// SPDX-License-Identifier: Apache-2.0
#include "tools/judge_recording.h"

#include <fmt/format.h>

#include <fstream>

#include "bus/recording.h"
#include "bus/steady_time.h"
#include "record/bus_alone.h"
#include "study/play.h"
#include "tools/recording_buses.h"

namespace drycrank::tools {
namespace {

int Fail(const std::string& problem, int code) {
  fmt::print(stderr, "drycrank judge: {}\n", problem);
  return code;
}

struct Fed {
  TimeNs duration_ns = 0;
  std::uint64_t frames = 0;
  std::string of_times;
};

// What came before and what comes after say nothing of the time between.
void Interrupt(const profile::Bench& bench, TimeNs t_ns, check::Checker& checker) {
  for (int bus = 0; bus < static_cast<int>(bench.buses.size()); ++bus) {
    checker.OnUnobservable(bus, t_ns, "the clock of the recording was set back");
    checker.OnObservable(bus, t_ns);
  }
}

// Times count from the first frame and never go back (bus/steady_time.h).
Fed Feed(const profile::Bench& bench, bus::RecordingReader& reader, RecordingBuses& buses,
         check::Checker& checker) {
  Fed fed;
  bus::SteadyTime steady;
  for (bus::RecordedFrame frame; reader.Next(frame); ++fed.frames) {
    const TimeNs t_ns = steady.Of(frame.t_ns);
    if (steady.was_set_back()) Interrupt(bench, t_ns, checker);
    fed.duration_ns = t_ns;
    const int bus = buses.BusOf(frame.interface, reader.interfaces());
    if (bus < 0) continue;
    checker.OnFrame({t_ns, bus, frame.direction == bus::Direction::kSent, frame.frame});
  }
  checker.Finish(fed.duration_ns);
  fed.of_times = steady.Words();
  return fed;
}

}  // namespace

int JudgeRecording(const RecordingToJudge& given, const ReportFiles& files) {
  RecordingBuses buses(given.bench, given.buses);
  if (!buses.problem().empty()) return Fail(buses.problem(), kBadInput);
  std::ifstream stream(given.path, std::ios::binary);
  bus::RecordingReader reader(stream);
  if (!reader.format()) {
    return Fail(given.path + ": " + reader.damage().front().what, kBadInput);
  }
  const profile::Scenario judged = record::AsJudgedByFrames(given.scenario);
  scenario::Timeline timeline(given.bench, judged);
  check::Checker checker(given.bench, judged, timeline);
  timeline.BeginStep(0, 0);
  checker.OnStep(0, 0);
  const Fed fed = Feed(given.bench, reader, buses, checker);

  report::Report report;
  report.version = study::Version();
  report.bench = &given.bench;
  report.scenario = &judged;
  report.duration_ns = fed.duration_ns;
  report.mode = fmt::format("from a recording of {} frames: {}", fed.frames, given.path);
  report.from_recording = true;
  report.verdicts = checker.verdicts();
  report.quiet = checker.quiet();
  report.steps = {{judged.steps[0].name, 0, fed.duration_ns, ""}};
  for (const profile::Expectation& expectation : given.scenario.expectations) {
    const std::string needs = record::WhatElseItNeeds(expectation);
    if (!needs.empty())
      report.notes.push_back(expectation.name + " " + needs + ", which a recording does not say");
  }
  for (const std::string& name : buses.left_out()) {
    report.notes.push_back(
        fmt::format("interface {} is none of the bench's buses: its frames are left out; {}", name,
                    buses.Remedy(name)));
  }
  if (!fed.of_times.empty()) report.notes.push_back(fed.of_times);
  if (const std::string problem = Publish(report, files); !problem.empty()) {
    return Fail(problem, kBenchFailed);
  }
  PrintDamage(given.path, reader);
  return reader.damaged() > 0 ? kBadInput : ExitCodeOf(report);
}

}  // namespace drycrank::tools
