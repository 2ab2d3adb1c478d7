// SPDX-License-Identifier: Apache-2.0
#include "capture/read_capture.h"

namespace drycrank::capture {
namespace {

ReadResult HeadOf(const CaptureLevels& levels) {
  ReadResult out;
  out.format = levels.info.format;
  out.from_ns = levels.from_ns;
  out.to_ns = levels.to_ns;
  out.step_ns = levels.step_ns;
  out.rows = levels.rows;
  out.unused = levels.unused;
  out.problems = levels.problems;
  return out;
}

void FindEdges(Trace& trace, const CaptureLevels& levels, std::vector<EdgeFinder>& finders) {
  const std::size_t width = trace.info().channels.size();
  TraceBlock block;
  while (trace.Next(block)) {
    for (std::size_t row = 0; row < block.t_ns.size(); ++row) {
      for (std::size_t c = 0; c < finders.size(); ++c) {
        const MappedChannel& channel = levels.channels[c].about;
        finders[c].Add(block.t_ns[row],
                       InUnits(channel, block.values[row * width + channel.index]));
      }
    }
  }
}

CapturedChannel Seen(const ChannelLevels& levels, EdgeFinder& finder) {
  CapturedChannel channel;
  channel.about = levels.about;
  channel.is_wave = std::holds_alternative<WaveRule>(levels.rule);
  channel.is_digital = levels.is_digital;
  channel.how = levels.how;
  channel.cut = finder.full();
  channel.changes = std::move(finder.changes());
  return channel;
}

}  // namespace

ReadResult ReadEdges(const std::string& path, const CaptureLevels& levels) {
  ReadResult out = HeadOf(levels);
  if (!out.problems.empty()) return out;
  const OpenedTrace opened = OpenTrace(path, levels.hints);
  std::vector<EdgeFinder> finders;
  for (const ChannelLevels& channel : levels.channels) finders.emplace_back(channel.rule);
  if (opened.trace) FindEdges(*opened.trace, levels, finders);
  const auto& problem = opened.trace ? opened.trace->problem() : opened.problem;
  if (problem) {
    out.problems.push_back(*problem);
    return out;
  }
  for (std::size_t c = 0; c < finders.size(); ++c) {
    out.channels.push_back(Seen(levels.channels[c], finders[c]));
  }
  return out;
}

ReadResult ReadCaptureFile(const std::string& path, const profile::Bench& bench, ChannelMap map) {
  return ReadEdges(path, ReadLevels(path, bench, std::move(map)));
}

}  // namespace drycrank::capture
