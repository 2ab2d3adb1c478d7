// SPDX-License-Identifier: Apache-2.0
#include "tools/judge_recording.h"

#include <fmt/format.h>

#include <fstream>

#include "bus/recording.h"
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
  std::string problem;
};

// Times count from the first frame.
Fed Feed(bus::RecordingReader& reader, RecordingBuses& buses, check::Checker& checker) {
  Fed fed;
  TimeNs first_ns = 0;
  for (bus::RecordedFrame frame; reader.Next(frame); ++fed.frames) {
    if (fed.frames == 0) first_ns = frame.t_ns;
    const TimeNs t_ns = frame.t_ns - first_ns;
    if (t_ns < fed.duration_ns) {
      fed.problem =
          fmt::format("the time goes back at frame {}: judged up to there only", fed.frames + 1);
      break;
    }
    fed.duration_ns = t_ns;
    const int bus = buses.BusOf(frame.interface, reader.interfaces());
    if (bus < 0) continue;
    checker.OnFrame({t_ns, bus, frame.direction == bus::Direction::kSent, frame.frame});
  }
  checker.Finish(fed.duration_ns);
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
  const Fed fed = Feed(reader, buses, checker);

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
  if (!fed.problem.empty()) report.notes.push_back(fed.problem);
  if (const std::string problem = Publish(report, files); !problem.empty()) {
    return Fail(problem, kBenchFailed);
  }
  PrintDamage(given.path, reader);
  if (!fed.problem.empty()) return Fail(given.path + ": " + fed.problem, kBadInput);
  return reader.damaged() > 0 ? kBadInput : ExitCodeOf(report);
}

}  // namespace drycrank::tools
