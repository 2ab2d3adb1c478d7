// SPDX-License-Identifier: Apache-2.0
//
// Injection and ignition of a synchronised engine. At each crank edge every driver's instants are
// predicted from the angle still to go and the speed of the last interval; an instant that
// comes before the next edge is taken as predicted.
//
//   spark (coil off)   advance_deg before the cylinder's firing top dead centre, coil on dwell_ms
//                      before
//   trailing spark     trailing_deg behind that of the same cylinder, where it fires such coils
//   injector off       injection_end_deg before the top dead centre of the intake stroke, which is
//                      the firing one + 360 on four strokes, and the same on two; on injection_ms
//                      before
//
// Fired in pairs, each of them comes once in every turn, at the same degree of the turn.
//
// What was predicted early is not done again: after its end a driver rests for half a cycle.
//
// A driver that is on keeps its end: when synchronism is lost, a coil or injector goes off at the
// instant last predicted; nothing new begins. Where an edge came too early, it or the one before it
// is no tooth: a coil then goes off when it was to before both. Without supply all go off at once.
// A spark or injection of which less than half the time is left when it could begin is left out;
// but one that was to begin, and whose edge came sooner than predicted, begins at once and has half
// its time. The one of the next cycle is planned as well where it begins before another edge comes:
// of a wheel with one tooth.
#ifndef DRYCRANK_STANDIN_FIRING_PLAN_H_
#define DRYCRANK_STANDIN_FIRING_PLAN_H_

#include <cstdint>
#include <vector>

#include "profile/bench.h"
#include "standin/controller.h"
#include "types/time.h"

namespace drycrank::standin {

class FiringPlan {
 public:
  explicit FiringPlan(const profile::Decoder& decoder);

  // A crank edge at t_ns, at this angle of the cycle and speed; the next is due so far on.
  // REQUIRES: deg_per_ns > 0.
  void OnPosition(TimeNs t_ns, double cycle_angle_deg, double deg_per_ns, double to_next_deg);
  // While it is cut, nothing of that kind begins: no spark at all, or no injection.
  void Cut(OutputKind kind, bool is_cut);
  // A switch of no cylinder; told once per change.
  void SwitchOutput(TimeNs t_ns, int output, bool on);
  void Cancel();                // begin nothing more
  // The last edge told to OnPosition may have been no tooth: a coil goes off when it was to before,
  // but is on for no more than a dwell longer. Before Cancel().
  void TakeBack(TimeNs t_ns);
  void SwitchOff(TimeNs t_ns);  // all off now
  void Advance(TimeNs t_ns);    // what is due up to t_ns happens

  std::vector<OutputEvent>& events() { return events_; }
  std::int64_t injections() const { return injections_; }  // begun
  std::int64_t ignitions() const { return ignitions_; }    // sparks of the first plug
  std::int64_t dropped() const { return dropped_; }

 private:
  struct Driver {
    OutputKind kind = OutputKind::kCoil;
    int cylinder = 1;
    double end_deg = 0;  // [0, cycle)
    double duration_ns = 0;
    bool on = false;
    TimeNs on_ns = kNever;
    TimeNs off_ns = kNever;
    TimeNs off_before_ns = kNever;  // as predicted at the edge before
    TimeNs again_ns = kNever;  // once it is off, it begins anew without another edge
    double rest_deg = 0;  // still to turn since its last end before it begins again
  };

  struct Ahead {
    TimeNs t_ns = 0;
    double to_next_ns = 0, cycle_ns = 0;
  };
  void Predict(Driver& driver, const Ahead& ahead, double to_go_ns) const;
  static TimeNs BeginAfter(const Driver& driver, const Ahead& ahead, TimeNs end_ns);
  void Switch(Driver& driver, TimeNs t_ns, bool on);
  void Add(const OutputEvent& event);
  bool IsCut(OutputKind kind) const {
    return IsCoil(kind) ? no_sparks_ : no_injections_;
  }
  void FindEarliest();

  double cycle_deg_;
  double last_angle_deg_ = 0;
  bool no_sparks_ = false, no_injections_ = false;
  std::vector<Driver> drivers_;
  std::vector<OutputEvent> events_;  // reserved; what does not fit is counted
  TimeNs earliest_ns_ = kNever;
  std::int64_t injections_ = 0;
  std::int64_t ignitions_ = 0;
  std::int64_t dropped_ = 0;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_FIRING_PLAN_H_
