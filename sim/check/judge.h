// SPDX-License-Identifier: Apache-2.0
//
// The judge of one expectation. It is given the judged time as stretches, and in them the frames of
// the messages it asked for; at the end it gives its verdict.
//
// Judged time: the steps named by `during` (all of them when empty), each without its first
// settle_s. Steps that follow each other make one stretch when nothing settles between them. A
// frame belongs to it when it comes *later* than its open: a frame of the very instant speaks of
// what was before.
//
//     step begins        settled                            another step, or end of the run
//     |<--- settle_s --->(==================================)
//     Begin              Open, with the first thing that    Close
//                        happens after it
//
// A stretch in which the bus cannot be observed is cut out: Pause, then Resume once settle_s has
// passed again after it, or Abandon when the judged time ends before that. What a judge would fail
// for what it could not see is not observable, neither met nor failed.
#ifndef DRYCRANK_CHECK_JUDGE_H_
#define DRYCRANK_CHECK_JUDGE_H_

#include <memory>
#include <vector>

#include "bus/frame.h"
#include "check/checker.h"
#include "check/crank.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "scenario/timeline.h"
#include "types/time.h"

namespace drycrank::check {

namespace expect = profile::expect;

// What is judged: the bench, and what it was ordered to do. Outlives the judge.
struct Subject {
  const profile::Bench& bench;
  const scenario::Timeline& timeline;
  const Crank& crank;
  const profile::Condition* when = nullptr;  // of this expectation; null: judged all the time
};

// After how many degrees of the crank each cylinder is fired again.
inline double FiringCycleDeg(const profile::Bench& bench) {
  const bool paired =
      bench.controller && bench.controller->decoder.firing == profile::Firing::kPaired;
  return paired ? 360.0 : bench.engine.cycle_deg();
}

// Frames that are no message of the bench.
struct Identifier {
  int bus = 0;
  std::uint32_t id = 0;
  bool extended = false;
};

class Judge {
 public:
  virtual ~Judge() = default;

  virtual std::vector<profile::MessageRef> Messages() const = 0;
  // The bus of which it is shown everything, whether the bench knows it or not; -1: none.
  virtual int Bus() const { return -1; }
  virtual void OnBusFrame(const bus::TimedFrame& /*frame*/, bool /*known*/) {}
  // Other frames it wants; they come with a message of -1.
  virtual std::vector<Identifier> Identifiers() const { return {}; }
  // Buses besides those of its messages that must work for its judgement.
  virtual std::vector<int> OtherBuses() const { return {}; }
  // The timeline began a step, judged or not.
  virtual void OnStep() {}
  virtual void Begin(TimeNs /*t_ns*/) {}
  virtual void Open(TimeNs /*settled_ns*/) {}
  // Only while open. No allocation here.
  virtual void OnFrame(const profile::MessageRef& message, const bus::TimedFrame& frame) = 0;
  virtual void Close(TimeNs /*end_ns*/) {}  // only of a stretch that opened
  // After Begin; `open`: also after Open.
  virtual void Pause(TimeNs /*t_ns*/, bool /*open*/) {}
  virtual void Resume(TimeNs /*settled_ns*/) {}  // only after Open
  virtual void Abandon(TimeNs /*end_ns*/) {}     // instead of Close
  // Is it met by what is reported, so that silence meets nothing? (silence.h)
  virtual bool NeedsReports() const { return false; }
  // Does it look at the controller's outputs, at what its trigger inputs see? Then it is shown all of
  // them, `open`: whether that is judged. No allocation here.
  virtual bool WatchesOutputs() const { return false; }
  virtual bool WatchesTriggers() const { return false; }
  virtual void OnOutput(const OutputEvent& /*event*/, bool /*open*/) {}
  virtual void OnEdge(const Edge& /*edge*/, bool /*open*/) {}
  // After the last Close. Everything but `expectation` is filled in.
  virtual Verdict Judgement() const = 0;
};

// One that no frame tells anything.
class EventJudge : public Judge {
 public:
  std::vector<profile::MessageRef> Messages() const override { return {}; }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& /*f*/) override {}
};
inline constexpr const char* kNoMotionKnown =
    "how the crank moved is not known: the record has no motion.csv; run it again";

// One for each kind, from what it requires; that outlives the judge too.
using JudgePtr = std::unique_ptr<Judge>;
// follows.cc
JudgePtr MakeJudge(const Subject& subject, const expect::Follows& kind);
// conditions.cc
JudgePtr MakeJudge(const Subject& subject, const expect::Always& kind);
JudgePtr MakeJudge(const Subject& subject, const expect::Never& kind);
JudgePtr MakeJudge(const Subject& subject, const expect::ForAtLeast& kind);
// comes_true.cc
JudgePtr MakeJudge(const Subject& subject, const expect::Within& kind);
JudgePtr MakeJudge(const Subject& subject, const expect::Synchronised& kind);
// messages.cc
JudgePtr MakeJudge(const Subject& subject, const expect::MessagePresent& kind);
JudgePtr MakeJudge(const Subject& subject, const expect::Counter& kind);
JudgePtr MakeJudge(const Subject& subject, const expect::Checksum& kind);
// display_shows.cc
JudgePtr MakeJudge(const Subject& subject, const expect::DisplayShows& kind);
// clean_bus.cc
JudgePtr MakeJudge(const Subject& subject, const expect::OnlyKnownMessages& kind);
JudgePtr MakeJudge(const Subject& subject, const expect::NoErrorFrames& kind);
// controller_reads.cc
JudgePtr MakeJudge(const Subject& subject, const expect::ControllerReads& kind);
// trouble_codes.cc
JudgePtr MakeJudge(const Subject& subject, const expect::TroubleCode& kind);
JudgePtr MakeJudge(const Subject& subject, const expect::NoTroubleCodes& kind);
// firing.cc
JudgePtr MakeJudge(const Subject& subject, const expect::FiresAt& kind);
JudgePtr MakeJudge(const Subject& subject, const expect::InjectsAt& kind);
// cam_edges.cc
JudgePtr MakeJudge(const Subject& subject, const expect::CamEdges& kind);
// firing_order.cc
JudgePtr MakeJudge(const Subject& subject, const expect::Order& kind);
// checker.cc: null, whoever saw it judges it
JudgePtr MakeJudge(const Subject& subject, const expect::Witnessed& kind);

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_JUDGE_H_
