// SPDX-License-Identifier: Apache-2.0
//
// A capture as the waves of its triggers, in the order of their begin, a stretch at a time: what is played
// to a controller. Between two samples the voltage goes straight; equal ones are one piece; a level is a
// piece without end. Memory is that of a stretch, however long the file.
//
//   volts    o---o          levels      ______
//           /     \                    |      |_____      an edge lies where `match` finds it
//      o---o       o---o          _____|
//
// At the end of the capture a coil comes to rest at 0 V, a level stays.
#ifndef DRYCRANK_CAPTURE_SIGNAL_STREAM_H_
#define DRYCRANK_CAPTURE_SIGNAL_STREAM_H_

#include <memory>
#include <optional>
#include <vector>

#include "capture/signal_plan.h"
#include "types/time.h"
#include "types/wave.h"

namespace drycrank::capture {

struct SignalPiece {
  int signal = 0;  // of the plan
  Wave wave;
};

class SignalStream {
 public:
  // What is at plan.begin_ns of the file is played at begin_ns. REQUIRES: the plan has no problem, and
  // outlives it.
  SignalStream(const SignalPlan& plan, TimeNs begin_ns);

  // The next pieces, some thousand, in `out`; false when there are none any more, or at what cannot be
  // read.
  bool Next(std::vector<SignalPiece>& out);
  const std::optional<Diagnostic>& problem() const { return problem_; }
  TimeNs end_ns() const { return InRun(plan_.end_ns); }

 private:
  // A channel on its way from samples to pieces.
  struct Run {
    explicit Run(const EdgeRule& rule) : finder(rule) {}
    EdgeFinder finder;
    bool begun = false;  // its first value was there; of a level: is known
    Wave open = {};      // volts: not handed on yet
    bool has_open = false;
  };
  TimeNs InRun(double file_ns) const;
  void ReadBlock();
  void TakeRow(double t_ns, std::size_t row);
  void TakeVolts(std::size_t signal, TimeNs t_ns, double value);
  void TakeEdges(std::size_t signal, double t_ns, double value);
  void BeginLevel(std::size_t signal, double value);
  void TakeLevel(std::size_t signal, TimeNs t_ns, bool high);
  void CloseOpen(std::size_t signal);
  void Rest();
  void HandOver(TimeNs before_ns, std::vector<SignalPiece>& out);

  const SignalPlan& plan_;
  TimeNs begin_ns_;
  std::unique_ptr<Trace> trace_;
  std::optional<Diagnostic> problem_;
  TraceBlock block_;
  std::vector<Run> runs_;
  std::vector<SignalPiece> made_;  // not handed over yet
  TimeNs read_ns_ = 0;             // up to here
  TimeNs given_ns_ = 0;            // begin of the last one handed over
  bool ended_ = false;
};

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_SIGNAL_STREAM_H_
