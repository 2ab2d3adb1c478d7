// SPDX-License-Identifier: Apache-2.0
#include "capture/read_capture.h"

#include "capture/swings.h"

namespace drycrank::capture {
namespace {

ReadResult HeadOf(const CaptureLevels& levels) {
  ReadResult out;
  out.format = levels.info.format;
  out.from_ns = levels.from_ns;
  out.to_ns = levels.to_ns;
  out.step_ns = levels.step_ns;
  out.rows = levels.rows;
  out.uneven = levels.info.uneven;
  out.holes = levels.holes;
  out.hole_count = levels.hole_count;
  out.repeats = levels.repeats;
  out.unused = levels.unused;
  out.problems = levels.problems;
  return out;
}

struct Finder {
  explicit Finder(const ChannelLevels& levels) : edges(levels.rule), swings(levels.span) {}
  EdgeFinder edges;
  Swings swings;
};

void FindEdges(Trace& trace, const CaptureLevels& levels, std::vector<Finder>& finders) {
  const std::size_t width = trace.info().channels.size();
  TraceBlock block;
  while (trace.Next(block)) {
    for (std::size_t row = 0; row < block.t_ns.size(); ++row) {
      for (std::size_t c = 0; c < finders.size(); ++c) {
        const MappedChannel& channel = levels.channels[c].about;
        const double value = InUnits(channel, block.values[row * width + channel.index]);
        finders[c].edges.Add(block.t_ns[row], value);
        if (levels.step_ns > 0) finders[c].swings.Add(block.t_ns[row], value);
      }
    }
  }
}

CapturedChannel Seen(const ChannelLevels& levels, double step_ns, Finder& finder) {
  CapturedChannel channel;
  channel.about = levels.about;
  channel.is_wave = std::holds_alternative<WaveRule>(levels.rule);
  channel.is_digital = levels.is_digital;
  channel.how = levels.how;
  channel.step_ns = step_ns;
  channel.cut = finder.edges.full();
  channel.changes = std::move(finder.edges.changes());
  channel.swings_ns = std::move(finder.swings.times_ns());
  return channel;
}

}  // namespace

ReadResult ReadEdges(const std::string& path, const CaptureLevels& levels) {
  ReadResult out = HeadOf(levels);
  if (!out.problems.empty()) return out;
  const OpenedTrace opened = OpenTrace(path, levels.hints);
  std::vector<Finder> finders;
  for (const ChannelLevels& channel : levels.channels) finders.emplace_back(channel);
  if (opened.trace) FindEdges(*opened.trace, levels, finders);
  const auto& problem = opened.trace ? opened.trace->problem() : opened.problem;
  if (problem) {
    out.problems.push_back(*problem);
    return out;
  }
  if (levels.rows < 2) {
    out.problems.push_back({{path, 0, 0}, "one row alone: nothing moves in it", "some turns"});
    return out;
  }
  for (std::size_t c = 0; c < finders.size(); ++c) {
    out.channels.push_back(Seen(levels.channels[c], levels.step_ns, finders[c]));
  }
  return out;
}

ReadResult ReadCaptureFile(const std::string& path, const profile::Bench& bench, ChannelMap map) {
  return ReadEdges(path, ReadLevels(path, bench, std::move(map)));
}

}  // namespace drycrank::capture
