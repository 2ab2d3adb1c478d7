// SPDX-License-Identifier: Apache-2.0
//
// A condition on the controller's pins or on the crank as a function of time (profile/condition.h): it is
// told what happens, and says from when on it holds and when it stops to by itself.
#ifndef DRYCRANK_CHECK_LINE_STATE_H_
#define DRYCRANK_CHECK_LINE_STATE_H_

#include <string>
#include <vector>

#include "check/crank.h"
#include "profile/condition.h"
#include "types/edge.h"
#include "types/output_event.h"
#include "types/time.h"

namespace drycrank::check {

class LineState {
 public:
  // REQUIRES: not on a signal. Both must outlive it.
  LineState(const profile::Condition& condition, const Crank& crank);

  void OnOutput(const OutputEvent& event);
  void OnEdge(const Edge& edge);

  // From t_ns on, if nothing happens. REQUIRES: nothing later was told.
  bool Holds(TimeNs t_ns) const;
  // When an age passes its limit after t_ns; else kNever.
  TimeNs FlipNs(TimeNs t_ns) const;
  double Value(TimeNs t_ns) const;
  const std::string& text() const { return condition_.text; }

 private:
  bool IsIts(profile::Line::Kind kind, int index) const;
  bool IsOn() const;
  void Set(int index, bool on);

  const profile::Condition& condition_;
  const Crank& crank_;
  std::vector<bool> on_;  // by index: any of several is enough
  TimeNs last_ns_ = 0;    // edge
};

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_LINE_STATE_H_
