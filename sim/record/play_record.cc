// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <charconv>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <utility>

#include "bus/frame_text.h"
#include "io/result_place.h"
#include "record/event_feed.h"
#include "record/record.h"
#include "record/stretch_notes.h"
#include "types/format_number.h"
#include "types/json_text.h"
#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::record {
namespace {

// Takes the text up to the next comma off the front of `rest`.
std::string_view Field(std::string_view& rest) {
  const auto comma = rest.find(',');
  const std::string_view field = rest.substr(0, comma);
  rest = comma == std::string_view::npos ? std::string_view() : rest.substr(comma + 1);
  return field;
}

template <class Number>
bool Parse(std::string_view text, Number& value) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc() && end == text.data() + text.size();
}

class Player {
 public:
  Player(const profile::Bench& bench, const profile::Scenario& scenario,
         scenario::Timeline& timeline, check::Checker& checker, run::RunObserver* watcher,
         EventFeed& events, PlayedRecord& out)
      : bench_(bench),
        scenario_(scenario),
        timeline_(timeline),
        checker_(checker),
        watcher_(watcher),
        events_(events),
        out_(out),
        lost_(bench.buses.size(), false),
        stretches_(bench) {}

  bool ended() const { return ended_; }
  TimeNs last_ns() const { return last_ns_; }
  void Finish() { stretches_.Finish(last_ns_, out_.notes); }

  // Empty when the line was taken, else the problem with it.
  std::string Take(std::string_view line) {
    TimeNs t_ns = 0;
    if (!Parse(Field(line), t_ns) || t_ns < last_ns_)
      return "no time, or one before the line above";
    const std::string_view kind = Field(line);
    std::string wrong;
    if (kind == "frame") wrong = TakeFrame(line, t_ns);
    if (kind == "step") wrong = TakeStep(line, t_ns);
    if (kind == "drive") wrong = TakeDrive(t_ns);
    if (kind == "note")
      out_.notes.push_back(fmt::format("{:.3f} s: {}", ToSeconds(t_ns), CsvUnquoted(line)));
    if (kind == "note" && line.find("in vain") != std::string_view::npos && !out_.steps.empty()) {
      out_.steps.back().note = CsvUnquoted(line);
    }
    if (kind == "unobservable" || kind == "observable") wrong = TakeSight(kind, line, t_ns);
    if (kind == "end") {
      ended_ = true;
      out_.why_ended = CsvUnquoted(line);
    }
    if (kind != "frame" && kind != "step" && kind != "note" && kind != "end" && kind != "fault" &&
        kind != "drive" && kind != "unobservable" && kind != "observable") {
      return fmt::format("unknown kind of line \"{}\"", kind);
    }
    if (wrong.empty()) last_ns_ = t_ns;
    return wrong;
  }

 private:
  std::string TakeFrame(std::string_view line, TimeNs t_ns) {
    const std::string_view bus_name = Field(line);
    const int bus = profile::IndexOf(bench_.buses, bus_name);
    if (bus < 0) return fmt::format("the bench has no bus \"{}\"", bus_name);
    const bool sent = Field(line) == "tx";
    const auto frame = bus::ParseFrameText(line);
    if (!frame) return fmt::format("\"{}\" is not a frame", line);
    if (out_.steps.empty()) return "a frame before the first step";
    checker_.OnFrame({t_ns, bus, sent, *frame});
    if (watcher_ != nullptr) watcher_->OnFrame({t_ns, bus, sent, *frame});
    ++out_.frames;
    return "";
  }

  std::string TakeStep(std::string_view line, TimeNs t_ns) {
    std::size_t step = 0;
    if (!Parse(Field(line), step) || step != out_.steps.size()) return "steps out of order";
    if (step >= scenario_.steps.size() || CsvUnquoted(line) != scenario_.steps[step].name) {
      return fmt::format("step {} \"{}\" is not in the scenario; was it changed since?", step,
                         line);
    }
    BeginStep(step, t_ns);
    return "";
  }

  std::string TakeDrive(TimeNs t_ns) {
    const std::size_t step = out_.steps.size();
    if (step == 0 || step >= scenario_.steps.size()) return "a drive by hand that has no step";
    BeginStep(step, t_ns);
    return "";
  }

  void BeginStep(std::size_t step, TimeNs t_ns) {
    events_.FeedBefore(t_ns);
    if (!out_.steps.empty()) out_.steps.back().end_ns = t_ns;
    out_.steps.push_back({scenario_.steps[step].name, t_ns, t_ns, ""});
    timeline_.BeginStep(step, t_ns);
    if (watcher_ != nullptr) watcher_->OnStep(step, t_ns);
    checker_.OnStep(step, t_ns);
  }

  std::string TakeSight(std::string_view kind, std::string_view line, TimeNs t_ns) {
    const std::string_view bus_name = Field(line);
    const int bus = profile::IndexOf(bench_.buses, bus_name);
    if (bus < 0) return fmt::format("the bench has no bus \"{}\"", bus_name);
    const bool lost = kind == "unobservable";
    if (Nth(lost_, bus) == lost) {
      return fmt::format("bus {} is {} twice", bus_name, kind);
    }
    Nth(lost_, bus) = lost;
    if (lost) {
      stretches_.Begin(bus, CsvUnquoted(line), t_ns);
      checker_.OnUnobservable(bus, t_ns, CsvUnquoted(line));
    } else {
      stretches_.End(bus, t_ns);
      checker_.OnObservable(bus, t_ns);
    }
    return "";
  }

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  scenario::Timeline& timeline_;
  check::Checker& checker_;
  run::RunObserver* watcher_;
  EventFeed& events_;
  PlayedRecord& out_;
  bool ended_ = false;
  TimeNs last_ns_ = 0;
  std::vector<bool> lost_;  // per bus
  StretchNotes stretches_;
};

// Without words: a record with this head is of a format that is read here.
Diagnostic FormatProblem(const std::string& path, const nlohmann::json& head) {
  const auto at = head.find("format");
  if (at == head.end()) return {};
  if (!at->is_number_integer()) {
    return {{path, 0, 0}, "its format is not a whole number", "give the folder of a run"};
  }
  const std::string why = WhyNotRead(at->get<std::int64_t>(), kRecordFormat);
  if (why.empty()) return {};
  return {{path, 0, 0},
          why,
          fmt::format("use the drycrank that wrote it, version {}",
                      head.contains("version") ? TextIn(head, "version") : "not stated")};
}

// Who was killed while a new record took the place of an old one left that one whole.
std::string WhatInstead(const std::string& path) {
  const auto before = std::filesystem::path(path).parent_path() / io::kBeforeFolder;
  std::error_code error;
  if (!std::filesystem::exists(before / "record.json", error)) return "give the folder of a run";
  return fmt::format("the one before it is whole in {}: give that", before.string());
}

void ReadHead(const std::string& path, const profile::Scenario& scenario, PlayedRecord& out) {
  std::ifstream file(path);
  const auto json = nlohmann::json::parse(file, nullptr, false);
  if (json.is_discarded() || !json.is_object()) {
    out.problems.push_back({{path, 0, 0}, "no readable record head", WhatInstead(path)});
    return;
  }
  if (Diagnostic wrong = FormatProblem(path, json); !wrong.what.empty()) {
    out.problems.push_back(std::move(wrong));
    return;
  }
  const auto seed = json.find("seed");
  out.seed = seed != json.end() && seed->is_number_unsigned() ? seed->get<std::uint64_t>() : 0;
  out.mode = TextIn(json, "mode");
  const std::string name = TextIn(json, "scenario");
  if (name != scenario.name) {
    out.problems.push_back({{path, 0, 0},
                            fmt::format("the record is of scenario \"{}\"", name),
                            fmt::format("give that scenario, not \"{}\"", scenario.name)});
  }
}

}  // namespace

std::string ScenarioOf(const std::string& folder) {
  std::ifstream file(std::filesystem::path(folder) / "record.json");
  const auto json = nlohmann::json::parse(file, nullptr, false);
  return TextIn(json, "scenario");
}

std::vector<DriveLine> DrivesOf(const std::string& folder, const profile::Bench& bench,
                                std::string& problem) {
  std::vector<DriveLine> drives;
  const std::string path = (std::filesystem::path(folder) / "events.csv").string();
  std::ifstream file(path);
  int number = 0;
  for (std::string text; std::getline(file, text);) {
    ++number;
    std::string_view rest = text;
    DriveLine line;
    const bool timed = Parse(Field(rest), line.t_ns);
    if (Field(rest) != "drive") continue;
    line.drive.stimulus = profile::IndexOf(bench.stimuli, Field(rest));
    bool valued = Parse(Field(rest), line.drive.to);
    const std::string_view how = Field(rest);
    const bool cranks = how == "crank" && line.drive.stimulus == 0;
    if (!cranks) valued = valued && Parse(how, line.drive.over_s);
    if (!timed || !valued || line.drive.stimulus < 0) {
      problem = fmt::format("{}:{}: \"{}\" drives nothing that the bench has", path, number, text);
      break;
    }
    if (line.drive.over_s > 0) line.drive.kind = profile::DriveKind::kRamp;
    if (cranks) line.drive.kind = profile::DriveKind::kCrank;
    drives.push_back(line);
  }
  return drives;
}

std::string WhyNotReadRecord(const std::string& folder) {
  const std::string path = (std::filesystem::path(folder) / "record.json").string();
  std::ifstream file(path);
  const auto json = nlohmann::json::parse(file, nullptr, false);
  if (!json.is_object()) return "";
  const Diagnostic wrong = FormatProblem(path, json);
  return wrong.what.empty() ? "" : Format(wrong);
}

PlayedRecord PlayRecord(const std::string& folder, const profile::Bench& bench,
                        const profile::Scenario& scenario, scenario::Timeline& timeline,
                        check::Checker& checker, run::RunObserver* watcher) {
  PlayedRecord out;
  const std::filesystem::path path(folder);
  ReadHead((path / "record.json").string(), scenario, out);
  if (!out.problems.empty()) return out;
  const std::string events = (path / "events.csv").string();
  std::ifstream file(events);
  if (!file) {
    out.problems.push_back({{events, 0, 0}, "cannot be read", "give the folder of a run"});
    return out;
  }
  EventFeed edges(folder, checker, watcher);
  Player player(bench, scenario, timeline, checker, watcher, edges, out);
  std::string line;
  int number = 0;
  // A last line without its end may lack digits of a frame as well: it is none.
  while (std::getline(file, line) && !file.eof()) {
    const std::string wrong = player.Take(line);
    ++number;
    if (!wrong.empty()) {
      out.problems.push_back({{events, number, 1}, wrong, "judged up to here only"});
      break;
    }
  }
  if (out.problems.empty() && !player.ended()) {
    out.problems.push_back({{events, number, 1},
                            "the record has no end: the run was cut short",
                            "judged up to the last whole line"});
  }
  player.Finish();
  out.duration_ns = player.last_ns();
  edges.FeedBefore(out.duration_ns + 1);
  for (std::string& problem : edges.Problems()) out.notes.push_back(std::move(problem));
  if (!out.steps.empty()) {
    out.steps.back().end_ns = out.duration_ns;
    if (watcher != nullptr) watcher->OnFinish(out.duration_ns);
    checker.Finish(out.duration_ns);
  }
  return out;
}

}  // namespace drycrank::record
