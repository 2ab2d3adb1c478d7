// SPDX-License-Identifier: Apache-2.0
//
// What a step does to a stimulus:
//   coolant_temperature: 90 °C                                   holds
//   throttle: {ramp: 100, over_s: 300 ms}                        straight to the target
//   throttle: {sine: 50, amplitude: 10, period_s: 2 s}           around a mean
//   air_temperature: {points: [[0, 18], [2, 35]]}                straight between (s, value)
//   road_speed: {points: {csv: lap.csv, time: t_s, value: speed}}   the same from a file
//   engine_speed: {crank: 220 rpm}                               with compression ripple
#include <fmt/format.h>

#include <algorithm>

#include "profile/keys_scenario.h"
#include "profile/load_scenario.h"
#include "profile/table_reader.h"
#include "types/nth.h"
#include "yaml/csv.h"

namespace drycrank::profile {
namespace {

Range RangeOf(const Stimulus& s) { return {s.unit, s.min, s.max}; }

void CheckPoints(Problems& problems, const Place& place, const Stimulus& s, const Points& points) {
  if (!points.empty() && points.front().first != 0) {
    problems.Add(place,
                 fmt::format("the points of '{}' begin at {:g} s", s.name, points.front().first),
                 "begin at 0, the begin of the step");
  }
}

void LoadCsvPoints(ScenarioContext& c, const Node& node, const Stimulus& s, Drive& drive) {
  Reader r(c.problems, node, "'points'");
  KnowKeys(r, kDriveCsvKeys);
  const auto file = r.GetRef("csv");
  const auto time = r.GetRef("time");
  const auto value = r.GetRef("value");
  if (!file || !time || !value) return;
  const std::string path = yaml::PathBeside(file->place.file, file->text);
  const auto text = c.files.ReadText(path, file->place);
  if (!text) return;
  drive.points =
      yaml::ReadCsvPoints(c.problems, path, *text, *time, *value, {"s", 0, kMaxRunS}, RangeOf(s));
  CheckPoints(c.problems, {path, 2, 1}, s, drive.points);
}

void LoadPoints(ScenarioContext& c, const Node& node, const Stimulus& s, Drive& drive) {
  drive.kind = DriveKind::kPoints;
  if (node.kind == NodeKind::kMap) {
    LoadCsvPoints(c, node, s, drive);
    return;
  }
  ReadPoints(c.problems, node, "'points'", {"s", 0, kMaxRunS}, RangeOf(s), &drive.points);
  CheckPoints(c.problems, node.Where(), s, drive.points);
}

void LoadSine(Reader& r, const Stimulus& s, bool has_mean, Drive& drive) {
  drive.kind = DriveKind::kSine;
  TableReader t(r, kSineKeys, drive);
  const bool both = has_mean & t.Take("amplitude", Range{s.unit, 0, s.max - s.min, true});
  t.TakeRest();
  if (both && (drive.to - drive.amplitude < s.min || drive.to + drive.amplitude > s.max)) {
    r.Complain("amplitude",
               fmt::format("the sine goes from {:g} to {:g}", drive.to - drive.amplitude,
                           drive.to + drive.amplitude),
               fmt::format("{:g} to {:g} {} is possible", s.min, s.max, s.unit));
  }
}

void LoadDriveMap(ScenarioContext& c, const Node& node, const Stimulus& s, const Step& step,
                  Drive& drive) {
  Reader r(c.problems, node, fmt::format("drive of '{}'", s.name), drive.place);
  TableReader t(r, kDriveKeys, drive);
  const Node* points = r.Find("points");
  int given = points != nullptr ? 1 : 0;
  for (const char* key : {"hold", "ramp", "sine", "crank"}) given += r.Has(key) ? 1 : 0;
  if (given != 1) {
    c.problems.Add(drive.place, fmt::format("{} says {} things at once", r.title(), given),
                   "write one of hold, ramp, sine, points, crank");
    r.PassOverOtherKeys();
    return;
  }
  if (points != nullptr) {
    LoadPoints(c, *points, s, drive);
  } else if (r.Has("hold")) {
    t.Take("hold", RangeOf(s));
  } else if (r.Has("ramp")) {
    drive.kind = DriveKind::kRamp;
    drive.over_s = step.for_s;
    t.Take("ramp", RangeOf(s));
    TakeAll(r, kRampKeys, drive);
  } else if (r.Has("sine")) {
    LoadSine(r, s, t.Take("sine", RangeOf(s)), drive);
  } else {
    drive.kind = DriveKind::kCrank;
    t.Take("crank", RangeOf(s));
    if (drive.stimulus != 0) {
      r.Complain("crank", fmt::format("'{}' is cranked", s.name), "only engine_speed is");
    }
  }
}

}  // namespace

void LoadDrives(ScenarioContext& c, const Node* node, Step& step) {
  if (node == nullptr || node->kind == NodeKind::kNull) return;
  if (node->kind != NodeKind::kMap) {
    c.problems.Add(node->Where(), std::string("'drive' is ") + KindName(*node),
                   "write stimuli with their values, as {throttle: 20}");
    return;
  }
  for (const Entry& entry : node->entries) {
    Drive drive;
    drive.place = entry.key_spot.Where();
    drive.stimulus =
        Resolve(c.problems, {entry.key, drive.place}, NamesOf(c.bench.stimuli), "stimulus");
    if (drive.stimulus < 0) continue;
    const Stimulus& s = Nth(c.bench.stimuli, drive.stimulus);
    if (entry.value.kind == NodeKind::kMap) {
      LoadDriveMap(c, entry.value, s, step, drive);
    } else if (const auto value =
                   ReadNumber(c.problems, entry.value, fmt::format("'{}'", s.name), RangeOf(s))) {
      drive.to = *value;
    }
    step.drives.push_back(std::move(drive));
  }
}

}  // namespace drycrank::profile
