// SPDX-License-Identifier: Apache-2.0
#include "record/edge_export.h"

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "record/edge_file.h"
#include "record/record.h"
#include "record/vcd.h"
#include "types/plain_text.h"

namespace drycrank::record {
namespace fs = std::filesystem;
namespace {

class Exporter {
 public:
  Exporter(const EdgeChannels& channels, const EdgeWindow& window, const std::string& folder,
           ExportedEdges& out)
      : channels_(channels),
        window_(window),
        out_(out),
        vcd_(channels, folder + "/edges.vcd"),
        edges_(folder + "/edges.csv"),
        outputs_(folder + "/outputs.csv"),
        levels_(LevelsAtStart(channels)) {}

  // False: nothing of the window can come any more.
  bool Take(const ReadBlock& block) {
    if (window_.to_ns < kNever - kEdgeHorizonNs &&
        block.earliest_ns > window_.to_ns + kEdgeHorizonNs) {
      return false;
    }
    if (!is_begun_ && waiting_.empty()) levels_ = block.before;
    for (const ChannelEdge& edge : block.edges) Take(edge);
    if (is_begun_) vcd_.WriteUpTo(latest_ns_ - kEdgeHorizonNs);
    return true;
  }

  void Finish() {
    if (!is_begun_) Begin();
    vcd_.End(window_.to_ns == kNever ? latest_ns_ : window_.to_ns);
    for (const std::string& problem : {vcd_.Close(), edges_.Close(), outputs_.Close()}) {
      if (out_.problem.empty()) out_.problem = problem;
    }
  }

 private:
  void Take(const ChannelEdge& edge) {
    const bool is_trigger = channels_[edge.channel].kind == ChannelKind::kTrigger;
    if (is_trigger) latest_ns_ = std::max(latest_ns_, edge.t_ns);
    // What lies ahead of the triggers is not before the window's begin for that.
    if (!is_begun_ && latest_ns_ - kEdgeHorizonNs >= window_.from_ns) Begin();
    if (edge.t_ns < window_.from_ns) {
      levels_[edge.channel] = edge.high ? Level::kHigh : Level::kLow;
    } else if (edge.t_ns < window_.to_ns) {
      is_begun_ ? vcd_.Add(edge) : waiting_.push_back(edge);
      is_trigger ? WriteEdge(edge) : WriteOutput(edge);
    }
  }

  void Begin() {
    is_begun_ = true;
    vcd_.Begin(window_.from_ns, levels_);
    for (const ChannelEdge& edge : waiting_) vcd_.Add(edge);
    waiting_.clear();
  }

  void WriteEdge(const ChannelEdge& edge) {
    edges_.Line("{},{},{}", edge.t_ns, CsvQuoted(channels_[edge.channel].name), edge.high ? 1 : 0);
    ++out_.edges;
  }

  void WriteOutput(const ChannelEdge& edge) {
    const EdgeChannel& channel = channels_[edge.channel];
    outputs_.Line("{},{},{},{}", edge.t_ns, Name(channel.kind), channel.cylinder,
                  edge.high ? "on" : "off");
    ++out_.outputs;
  }

  const EdgeChannels& channels_;
  const EdgeWindow& window_;
  ExportedEdges& out_;
  VcdWriter vcd_;
  TextFile edges_, outputs_;
  std::vector<Level> levels_;  // at the window's begin
  std::vector<ChannelEdge> waiting_;
  bool is_begun_ = false;
  TimeNs latest_ns_ = 0;  // of a trigger
};

// Why there are no edges to read; empty: there may be.
std::string WhyNot(const fs::path& record) {
  std::error_code error;
  if (std::string newer = WhyNotReadRecord(record.string()); !newer.empty()) return newer;
  if (fs::exists(record / "edges.bin", error)) return "";
  if (fs::exists(record / "edges.csv", error)) {
    return fmt::format(
        "{} is of record format 1: its edges.csv, edges.vcd and outputs.csv are there already",
        record.string());
  }
  return fmt::format("{} holds no edges.bin; give the folder of a run with a controller",
                     record.string());
}

}  // namespace

ExportedEdges ExportEdges(const std::string& record, const EdgeWindow& window,
                          const std::string& folder) {
  ExportedEdges out;
  out.problem = WhyNot(record);
  std::error_code error;
  const fs::path path = fs::path(record) / "edges.bin";
  std::ifstream stream(path, std::ios::binary);
  EdgeReader reader(stream);
  if (out.problem.empty() && !reader.problem().empty()) {
    out.problem = path.string() + ": " + reader.problem();
  }
  if (window.to_ns <= window.from_ns) out.problem = "the window ends before it begins";
  out.is_bad_input = !out.problem.empty();
  if (out.is_bad_input) return out;
  fs::create_directories(folder, error);
  if (error) {
    out.problem = folder + ": " + error.message();
    return out;
  }
  Exporter exporter(reader.channels(), window, folder, out);
  for (ReadBlock block; reader.Next(block) && exporter.Take(block);) {
  }
  exporter.Finish();
  out.damage = reader.damage();
  return out;
}

}  // namespace drycrank::record
