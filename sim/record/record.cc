// SPDX-License-Identifier: Apache-2.0
#include "record/record.h"

#include <fmt/format.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "bus/frame_text.h"
#include "bus/pcapng.h"
#include "io/background_writer.h"
#include "io/loaded_libraries.h"
#include "record/armed_words.h"
#include "record/edge_file.h"
#include "record/made_with.h"
#include "record/motion_file.h"
#include "record/played_files.h"
#include "record/record_swap.h"
#include "record/text_file.h"
#include "types/format_number.h"
#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::record {
namespace fs = std::filesystem;
namespace {

constexpr TimeNs kStimuliEveryNs = 50 * kNsPerMs;
constexpr TimeNs kFlushEveryNs = 500 * kNsPerMs;
constexpr std::chrono::milliseconds kLookEvery(20);

// The library's own copying calls a full disk an input/output error.
std::string Copy(const std::string& from, const fs::path& to) {
  std::ifstream file(from, std::ios::binary);
  const std::string text((std::istreambuf_iterator<char>(file)), {});
  if (!file) return fmt::format("copy {}: it cannot be read any more", from);
  TextFile copy(to.string());
  copy.buffer().append(text);
  return copy.Close();
}

// profiles/000-hill_climb.yaml ...: the number keeps files of one name from different folders
// apart.
std::string CopyProfiles(const fs::path& folder, const std::vector<std::string>& files,
                         nlohmann::ordered_json& list) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) return fmt::format("make folder {}: {}", folder.string(), error.message());
  int number = 0;
  for (const std::string& file : files) {
    const std::string name = fmt::format("{:03}-{}", number++, fs::path(file).filename().string());
    const std::string problem = Copy(file, folder / name);
    if (!problem.empty()) return problem;
    const auto bytes = fs::file_size(folder / name, error);
    list.push_back({{"file", "profiles/" + name}, {"from", file}, {"bytes", bytes}});
  }
  return "";
}

void AddPlayed(const profile::Scenario& scenario, nlohmann::ordered_json& json) {
  for (const PlayedFile& file : PlayedFilesOf(scenario)) {
    json["played"].push_back({{"from", file.file}, {"bytes", file.bytes}, {"sha256", file.sha256}});
  }
}

nlohmann::ordered_json PartWords() {
  nlohmann::ordered_json words;
  for (const MadeWith& part : PartsMadeWith()) words[part.name] = part.version;
  return words;
}

}  // namespace

RecordWriter::RecordWriter(const profile::Bench& bench, const profile::Scenario& scenario,
                           const scenario::Timeline& timeline)
    : bench_(bench), scenario_(scenario), timeline_(timeline) {}

RecordWriter::~RecordWriter() = default;

std::string RecordWriter::Open(const std::string& folder, bool overwrite, const RecordHead& head,
                               const profile::Bench& bench, const profile::Scenario& scenario,
                               const scenario::Timeline& timeline,
                               std::unique_ptr<RecordWriter>& out) {
  const fs::path path(folder);
  std::error_code error;
  if (fs::exists(path / "record.json", error) && !overwrite) {
    return folder + " holds a record already; give another folder, or --overwrite to replace it";
  }
  const Aside made_aside(path);
  const fs::path& aside = made_aside.path;
  fs::create_directories(aside, error);
  if (error) return fmt::format("create {}: {}", folder, error.message());

  nlohmann::ordered_json json;
  json["program"] = "drycrank";
  json["format"] = kRecordFormat;
  json["version"] = head.version;
  json["made_with"] = PartWords();
  json["loaded"] = io::LoadedLibraries();
  json["scenario"] = head.scenario;
  json["bench"] = head.bench;
  json["seed"] = head.seed;
  json["mode"] = head.mode;
  json["interfaces"] = head.interfaces;
  if (head.armed) AddArmed(*head.armed, json);
  json["cautions"] = report::Cautions();
  json["profiles"] = nlohmann::ordered_json::array();
  const std::string copied = CopyProfiles(aside / "profiles", head.files, json["profiles"]);
  if (!copied.empty()) return copied;
  AddPlayed(scenario, json);

  std::unique_ptr<RecordWriter> writer(new RecordWriter(bench, scenario, timeline));
  TextFile head_file((aside / "record.json").string());
  head_file.Line("{}", json.dump(2));
  writer->problem_ = head_file.Close();
  if (!writer->problem_.empty()) return writer->problem_;
  const auto open = [&](const char* name) {
    return std::make_unique<TextFile>((aside / name).string());
  };
  writer->events_ = open("events.csv");
  writer->stimuli_ = open("stimuli.csv");
  writer->frames_ = open("frames.pcapng");
  writer->motion_ = open("motion.csv");
  writer->motion_->Line("{}", kMotionHeader);
  writer->events_->WhenFull([](std::string_view last, const std::string& trouble) {
    return fmt::format("{},end,{}\n", last.substr(0, last.find(',')),
                       CsvQuoted("error: " + trouble));
  });
  writer->frames_->HoldsBytes();
  bus::AppendPcapngSection(writer->frames_->buffer());
  for (const profile::Bus& bus : bench.buses) {
    bus::AppendPcapngInterface(bus.name, writer->frames_->buffer());
  }
  if (bench.controller) {
    writer->channels_ = EdgeChannelsOf(bench);
    writer->edges_ =
        std::make_unique<EdgeWriter>(writer->channels_, (aside / "edges.bin").string());
  }
  auto& header = writer->stimuli_->buffer();
  fmt::format_to(fmt::appender(header), "t_s");
  for (const profile::Stimulus& s : bench.stimuli) {
    fmt::format_to(fmt::appender(header), ",{} ({})", s.name, s.unit);
  }
  writer->stimuli_->EndLine();
  std::string problem;
  writer->ForEachFile([&](TextFile& file) {
    file.Flush();
    if (problem.empty()) problem = file.problem();
  });
  if (problem.empty()) problem = MoveIn(aside, path);
  if (!problem.empty()) return problem;
  writer->folder_ = path;
  writer->events_->Rename((path / "events.csv").string());
  writer->stimuli_->Rename((path / "stimuli.csv").string());
  writer->frames_->Rename((path / "frames.pcapng").string());
  writer->motion_->Rename((path / "motion.csv").string());
  if (writer->edges_) writer->edges_->file().Rename((path / "edges.bin").string());
  if (head.real_time) {
    std::vector<io::Backlog*> files;
    writer->ForEachFile([&](TextFile& file) { files.push_back(&file); });
    writer->background_ = std::make_unique<io::BackgroundWriter>(std::move(files), kLookEvery);
  }
  out = std::move(writer);
  return "";
}

void RecordWriter::OnClockStart(TimeNs origin_ns) { origin_ns_ = origin_ns; }

void RecordWriter::OnStep(std::size_t step, TimeNs t_ns) {
  last_event_ns_ = t_ns;
  events_->Line("{},step,{},{}", t_ns, step, CsvQuoted(scenario_.steps[step].name));
}

void RecordWriter::OnFault(const std::string& name, bool in_force, TimeNs t_ns) {
  last_event_ns_ = t_ns;
  events_->Line("{},fault,{},{}", t_ns, in_force ? "on" : "off", CsvQuoted(name));
}

void RecordWriter::OnFrame(const bus::TimedFrame& frame) {
  last_event_ns_ = frame.t_ns;
  auto& buffer = events_->buffer();
  fmt::format_to(fmt::appender(buffer), "{},frame,{},{},", frame.t_ns,
                 Nth(bench_.buses, frame.bus).name, frame.sent ? "tx" : "rx");
  bus::AppendFrameText(frame.frame, buffer);
  events_->EndLine();
  bus::AppendPcapngFrame(
      {origin_ns_ + frame.t_ns, frame.bus,
       frame.sent ? bus::Direction::kSent : bus::Direction::kReceived, frame.frame},
      frames_->buffer());
  frames_->EndPiece();
}

void RecordWriter::OnEdge(const Edge& edge) {
  edges_->Add({edge.t_ns, AsSize(edge.channel), edge.high});
}

void RecordWriter::OnOutput(const standin::OutputEvent& event) {
  edges_->Add({event.t_ns, ChannelOf(channels_, event), event.on});
}

void RecordWriter::OnMotion(const CrankMotion& motion) {
  AppendMotion(motion, motion_->buffer());
  motion_->EndLine();
}

template <class Function>
void RecordWriter::ForEachFile(Function function) const {
  for (const auto* file : {&events_, &stimuli_, &frames_, &motion_}) function(**file);
  if (edges_) function(edges_->file());
}

std::uint64_t RecordWriter::bytes() const {
  std::uint64_t bytes = 0;
  ForEachFile([&](const TextFile& file) { bytes += file.bytes(); });
  return bytes;
}

std::string RecordWriter::trouble() const {
  std::string trouble;
  ForEachFile([&](const TextFile& file) {
    if (trouble.empty()) trouble = file.problem();
  });
  return trouble.empty() ? HeadTrouble() : trouble;
}

// It does not grow, and without it nobody reads the rest. A folder that was moved took it along.
std::string RecordWriter::HeadTrouble() const {
  std::error_code error;
  const fs::path head = folder_ / "record.json";
  if (!fs::is_directory(folder_, error) || fs::exists(head, error) || error) return "";
  return head.string() + ": was removed or moved while the record was being written";
}

void RecordWriter::OnSample(TimeNs t_ns) {
  if (t_ns >= next_flush_ns_) {
    next_flush_ns_ = t_ns + kFlushEveryNs;
    if (edges_) edges_->Seal();
    ForEachFile([](TextFile& file) { file.Flush(); });
  }
  if (t_ns < next_stimuli_ns_) return;
  next_stimuli_ns_ = t_ns + kStimuliEveryNs;
  auto& buffer = stimuli_->buffer();
  fmt::format_to(fmt::appender(buffer), "{:.3f}", ToSeconds(t_ns));
  for (std::size_t i = 0; i < bench_.stimuli.size(); ++i) {
    fmt::format_to(fmt::appender(buffer), ",{:.6g}", timeline_.Value(static_cast<int>(i), t_ns));
  }
  stimuli_->EndLine();
}

void RecordWriter::OnDrive(int stimulus, double value, double over_s, TimeNs t_ns) {
  last_event_ns_ = t_ns;
  events_->Line("{},drive,{},{},{}", t_ns, Nth(bench_.stimuli, stimulus).name, value, over_s);
}

void RecordWriter::OnCrank(double rpm, TimeNs t_ns) {
  last_event_ns_ = t_ns;
  events_->Line("{},drive,{},{},crank", t_ns, bench_.stimuli.front().name, rpm);
}

void RecordWriter::OnNote(const std::string& note, TimeNs t_ns) {
  last_event_ns_ = t_ns;
  events_->Line("{},note,{}", t_ns, CsvQuoted(note));
}

void RecordWriter::OnUnobservable(int bus, const std::string& why, TimeNs t_ns) {
  last_event_ns_ = t_ns;
  events_->Line("{},unobservable,{},{}", t_ns, Nth(bench_.buses, bus).name, CsvQuoted(why));
}

void RecordWriter::OnObservable(int bus, TimeNs t_ns) {
  last_event_ns_ = t_ns;
  events_->Line("{},observable,{}", t_ns, Nth(bench_.buses, bus).name);
}

void RecordWriter::OnEnd(const std::string& why, TimeNs /*t_ns*/) { why_ended_ = why; }

void RecordWriter::EndEarly(const std::string& why) {
  if (edges_) edges_->Seal();
  events_->Line("{},end,{}", last_event_ns_, CsvQuoted(why));
  ForEachFile([](TextFile& file) {
    file.EndHere();
    file.Flush();
  });
}

void RecordWriter::EndFromOutside(TimeNs t_ns, const std::string& why) {
  events_->LineFromOutside(fmt::format("{},end,{}\n", t_ns, CsvQuoted(why)));
}

void RecordWriter::OnFinish(TimeNs t_ns) {
  if (edges_) edges_->Seal();
  events_->Line("{},end,{}", t_ns, CsvQuoted(why_ended_));
  background_.reset();
  ForEachFile([this](TextFile& file) {
    const std::string failed = file.Close();
    if (problem_.empty()) problem_ = failed;
  });
  if (problem_.empty()) problem_ = HeadTrouble();
}

}  // namespace drycrank::record
