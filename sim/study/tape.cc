// SPDX-License-Identifier: Apache-2.0
#include "study/tape.h"

#include <algorithm>
#include <iterator>

#include "bus/cyclic.h"
#include "bus/layout.h"
#include "types/nth.h"

namespace drycrank::study {

void Tape::Add(TimeNs t_ns, Kind kind, std::size_t index) {
  events_.push_back({t_ns, kind, static_cast<std::uint32_t>(index)});
}

void Tape::OnStep(std::size_t step, TimeNs t_ns) {
  begins_ns_.push_back(t_ns);
  Add(t_ns, Kind::kStep, step);
}

void Tape::OnMotion(const CrankMotion& motion) {
  motions_.push_back(motion);
  Add(motion.begin_ns, Kind::kMotion, motions_.size() - 1);
}

void Tape::OnSample(TimeNs t_ns) { Add(t_ns, Kind::kSample, samples_++); }

void Tape::OnFrame(const bus::TimedFrame& frame) {
  const auto& messages = Nth(bench_.buses, frame.bus).messages;
  const auto at = std::ranges::find_if(
      messages, [&](const profile::Message& m) { return bus::Matches(m, frame.frame); });
  const int message = at == messages.end() ? -1 : static_cast<int>(at - messages.begin());
  frames_.push_back({frame, message});
  Add(frame.t_ns, Kind::kFrame, frames_.size() - 1);
}

void Tape::OnEdge(const Edge& edge) {
  edges_.push_back(edge);
  Add(edge.t_ns, Kind::kEdge, edges_.size() - 1);
}

void Tape::OnOutput(const OutputEvent& event) {
  outputs_.push_back(event);
  Add(event.t_ns, Kind::kOutput, outputs_.size() - 1);
}

void Tape::OnFinish(TimeNs t_ns) {
  begins_ns_.push_back(t_ns);
  MergeDues(t_ns);
}

// Each goes before the first step, sample or frame that comes later than it.
void Tape::MergeDues(TimeNs end_ns) {
  std::vector<Event> dues;
  for (const auto sender : {profile::Sender::kController, profile::Sender::kDisplay}) {
    bus::CyclicSender cyclic(bench_, sender);
    for (TimeNs t_ns = cyclic.NextDue(); t_ns <= end_ns; t_ns = cyclic.NextDue()) {
      const bus::Slot* slot = cyclic.TakeDue(t_ns);
      dues_.push_back({slot->bus, slot->message});
      dues.push_back({t_ns, Kind::kDue, static_cast<std::uint32_t>(dues_.size() - 1)});
    }
  }
  std::ranges::stable_sort(dues, {}, &Event::t_ns);
  std::vector<Event> merged;
  merged.reserve(events_.size() + dues.size());
  auto next = dues.begin();
  for (const Event& event : events_) {
    const bool tells_time =
        event.kind == Kind::kStep || event.kind == Kind::kSample || event.kind == Kind::kFrame;
    for (; tells_time && next != dues.end() && next->t_ns < event.t_ns; ++next) {
      merged.push_back(*next);
    }
    merged.push_back(event);
  }
  merged.insert(merged.end(), next, dues.end());
  events_ = std::move(merged);
  std::ranges::copy_if(events_, std::back_inserter(on_bus_), [](const Event& event) {
    return event.kind != Kind::kMotion && event.kind != Kind::kEdge && event.kind != Kind::kOutput;
  });
}

}  // namespace drycrank::study
