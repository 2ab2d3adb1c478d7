// SPDX-License-Identifier: Apache-2.0
#include "record/vcd.h"

#include <algorithm>
#include <utility>

#include "types/nth.h"

namespace drycrank::record {
namespace {

constexpr std::size_t kRoom = 16384;  // changes within the horizon, at 20,000 r/min and more

// One printable character per variable is enough for the few there are.
static_assert('!' + kMostEdgeChannels <= '~');
std::string Code(std::size_t index) { return std::string(1, static_cast<char>('!' + index)); }

}  // namespace

VcdWriter::VcdWriter(EdgeChannels channels, const std::string& path)
    : channels_(std::move(channels)), file_(path) {
  pending_.reserve(kRoom);
}

void VcdWriter::Begin(TimeNs t_ns, const std::vector<Level>& levels) {
  file_.Line("$timescale 1 ns $end");
  file_.Line("$scope module bench $end");
  for (std::size_t i = 0; i < channels_.size(); ++i) {
    file_.Line("$var wire 1 {} {} $end", Code(i), channels_[i].name);
  }
  file_.Line("$upscope $end");
  file_.Line("$enddefinitions $end");
  file_.Line("#{}", t_ns);
  for (std::size_t i = 0; i < channels_.size(); ++i)
    file_.Line("{}{}", "01x"[static_cast<int>(levels[i])], Code(i));
  last_ns_ = t_ns;
}

void VcdWriter::OnEdge(const Edge& edge) { Add({edge.t_ns, AsSize(edge.channel), edge.high}); }

void VcdWriter::OnOutput(const standin::OutputEvent& event) {
  Add({event.t_ns, ChannelOf(channels_, event), event.on});
}

void VcdWriter::OnSample(TimeNs t_ns) { WriteUpTo(t_ns - kEdgeHorizonNs); }

void VcdWriter::End(TimeNs t_ns) {
  WriteUpTo(kNever);
  file_.Line("#{}", std::max(t_ns, last_ns_));
}

// Kept in time order as they come: what is late is late by a few changes, and sorting all of them
// each time would allocate.
void VcdWriter::Add(const ChannelEdge& edge) {
  pending_.push_back({std::max(edge.t_ns, last_ns_), edge.channel, edge.high});
  for (std::size_t i = pending_.size() - 1; i > 0 && pending_[i].t_ns < pending_[i - 1].t_ns; --i) {
    std::swap(pending_[i], pending_[i - 1]);
  }
}

void VcdWriter::WriteUpTo(TimeNs t_ns) {
  std::size_t done = 0;
  for (; done < pending_.size() && pending_[done].t_ns <= t_ns; ++done) {
    const ChannelEdge& change = pending_[done];
    if (change.t_ns != last_ns_) file_.Line("#{}", change.t_ns);
    last_ns_ = change.t_ns;
    file_.Line("{}{}", change.high ? 1 : 0, Code(change.channel));
    ++changes_;
  }
  pending_.erase(pending_.begin(), pending_.begin() + static_cast<std::ptrdiff_t>(done));
}

}  // namespace drycrank::record
