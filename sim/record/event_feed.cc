// SPDX-License-Identifier: Apache-2.0
#include "record/event_feed.h"

#include <fmt/format.h>

#include <filesystem>

#include "record/motion_file.h"
#include "types/nth.h"

namespace drycrank::record {

namespace {

// REQUIRES: no trigger
OutputKind OutputKindOf(ChannelKind kind) {
  switch (kind) {
    case ChannelKind::kCoil:
      return OutputKind::kCoil;
    case ChannelKind::kTrailingCoil:
      return OutputKind::kTrailingCoil;
    case ChannelKind::kInjector:
      return OutputKind::kInjector;
    case ChannelKind::kTrigger:
    case ChannelKind::kSwitch:
      break;
  }
  return OutputKind::kSwitch;
}

}  // namespace

EventFeed::EventFeed(const std::string& folder, check::Checker& checker, run::RunObserver* watcher)
    : checker_(checker), watcher_(watcher), wanted_(checker.WatchesEvents()) {
  if (!wanted_) return;
  const std::filesystem::path path(folder);
  edge_stream_.open(path / "edges.bin", std::ios::binary);
  if (edge_stream_) edges_.emplace(edge_stream_);
  motion_stream_.open(path / "motion.csv");
  std::string header;
  if (!std::getline(motion_stream_, header) || header != kMotionHeader) {
    motion_problem_ = "motion.csv: there is none that is read here";
    motion_stream_.setstate(std::ios::failbit);
  }
  FindMotion();
}

void EventFeed::FindMotion() {
  motion_.reset();
  std::string line;
  if (!std::getline(motion_stream_, line) || motion_stream_.eof()) return;
  motion_ = ParseMotion(line);
  if (motion_) return;
  motion_problem_ = fmt::format("motion.csv: \"{}\" is no motion; read up to there", line);
  motion_stream_.setstate(std::ios::failbit);
}

void EventFeed::FeedMotions(TimeNs up_to_ns) {
  while (motion_ && motion_->begin_ns <= up_to_ns) {
    checker_.OnMotion(*motion_);
    if (watcher_ != nullptr) watcher_->OnMotion(*motion_);
    FindMotion();
  }
}

bool EventFeed::FindEdge() {
  while (edges_ && next_edge_ >= block_.edges.size()) {
    next_edge_ = 0;
    if (!edges_->Next(block_)) {
      block_.edges.clear();
      return false;
    }
  }
  return edges_.has_value();
}

void EventFeed::Dispatch(const ChannelEdge& edge) {
  const EdgeChannel& channel = Nth(edges_->channels(), static_cast<int>(edge.channel));
  if (channel.kind == ChannelKind::kTrigger) {
    const Edge logic{edge.t_ns, static_cast<int>(edge.channel), edge.high};
    checker_.OnEdge(logic);
    if (watcher_ != nullptr) watcher_->OnEdge(logic);
    return;
  }
  const OutputEvent output{edge.t_ns, OutputKindOf(channel.kind), channel.cylinder, edge.high};
  checker_.OnOutput(output);
  if (watcher_ != nullptr) watcher_->OnOutput(output);
}

void EventFeed::FeedBefore(TimeNs t_ns) {
  if (!wanted_) return;
  while (FindEdge() && block_.edges[next_edge_].t_ns < t_ns) {
    FeedMotions(block_.edges[next_edge_].t_ns);
    Dispatch(block_.edges[next_edge_++]);
  }
  FeedMotions(t_ns - 1);
}

std::vector<std::string> EventFeed::Problems() const {
  std::vector<std::string> problems;
  if (!wanted_) return problems;
  if (!motion_problem_.empty()) problems.push_back(motion_problem_);
  if (!edges_) problems.emplace_back("edges.bin: there is none; edges and outputs are not judged");
  if (edges_ && !edges_->problem().empty()) problems.push_back("edges.bin: " + edges_->problem());
  if (edges_ && edges_->damaged() > 0) {
    problems.push_back(fmt::format("edges.bin: {} places are damaged; edges are missing there",
                                   edges_->damaged()));
  }
  return problems;
}

}  // namespace drycrank::record
