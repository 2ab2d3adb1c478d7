// SPDX-License-Identifier: Apache-2.0
//
// What a run in virtual time did, event by event, for whoever makes another run of it in which only
// some values differ (remake.h):
//
//   step, motion, sample, frame, edge, output    as the observers of a run get them
//   due                                          when a cyclic message took its values (bus/cyclic.h)
//
// At one instant: frames that arrive, the step, the sample, what is due. A frame that was received
// belongs to the last due instant of its message before it.
#ifndef DRYCRANK_STUDY_TAPE_H_
#define DRYCRANK_STUDY_TAPE_H_

#include <cstdint>
#include <vector>

#include "profile/bench.h"
#include "run/observer.h"

namespace drycrank::study {

class Tape : public run::RunObserver {
 public:
  enum class Kind : std::uint8_t { kStep, kMotion, kSample, kFrame, kEdge, kOutput, kDue };
  struct Event {
    TimeNs t_ns = 0;
    Kind kind = Kind::kStep;
    std::uint32_t index = 0;  // into the list of its kind; a sample: its number
  };
  struct Received {
    bus::TimedFrame frame;
    int message = -1;  // of the bus; -1: none of the bench's
  };

  // The bench must outlive it.
  explicit Tape(const profile::Bench& bench) : bench_(bench) {}

  void OnStep(std::size_t step, TimeNs t_ns) override;
  void OnMotion(const CrankMotion& motion) override;
  void OnSample(TimeNs t_ns) override;
  void OnFrame(const bus::TimedFrame& frame) override;
  void OnEdge(const Edge& edge) override;
  void OnOutput(const OutputEvent& event) override;
  void OnFinish(TimeNs t_ns) override;

  const std::vector<Event>& events() const { return events_; }
  // The same without motion, edges and outputs.
  const std::vector<Event>& on_bus() const { return on_bus_; }
  const std::vector<CrankMotion>& motions() const { return motions_; }
  const std::vector<Received>& frames() const { return frames_; }
  const std::vector<Edge>& edges() const { return edges_; }
  const std::vector<OutputEvent>& outputs() const { return outputs_; }
  const std::vector<profile::MessageRef>& dues() const { return dues_; }
  // When each step began, and the end.
  const std::vector<TimeNs>& begins_ns() const { return begins_ns_; }

 private:
  void Add(TimeNs t_ns, Kind kind, std::size_t index);
  void MergeDues(TimeNs end_ns);

  const profile::Bench& bench_;
  std::vector<Event> events_, on_bus_;
  std::vector<CrankMotion> motions_;
  std::vector<Received> frames_;
  std::vector<Edge> edges_;
  std::vector<OutputEvent> outputs_;
  std::vector<profile::MessageRef> dues_;
  std::vector<TimeNs> begins_ns_;
  std::uint32_t samples_ = 0;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_TAPE_H_
