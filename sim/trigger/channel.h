// SPDX-License-Identifier: Apache-2.0
//
// One wheel and its place in time: which edge comes next, and when. The place is a count of edges,
// never an angle compared again, so that rounding, a new segment or a step of the advance can
// neither lose nor repeat an edge. Only a fault that changes the wheel itself (fitted, mounted
// late, a tooth gone) is looked up by angle again.
//
// Two events are not edges of the wheel and come at the instant of a Restart: a Hall channel's
// level after such a fault, when it is another than the one last given; and the rest of a lobe in
// progress. That is cut short with peak 0 when the crank stands still inside it or the wheel was changed;
// when the motion changed, it is planned anew, from the EMF now to the instant at which its end is met:
//
//   emf    .-"-.          y: share of the lobe's angle that is left, T: how long it takes now
//        .'  |  `.        peak' = flux / (T / y)       begin = peak' sin(pi (1 - y))
//       /    |now `.      the piece: begin (1 - x) + p sin(pi x), with p by the lobe's own middle,
//                           p = peak' sin(pi y / 2) - begin / 2
//
// While the crank swings back (motion.backwards()) the marks come in the reverse order: each Hall edge
// gives the level before it, each lobe is met at its end and left at its begin, of the other sign.
#ifndef DRYCRANK_TRIGGER_CHANNEL_H_
#define DRYCRANK_TRIGGER_CHANNEL_H_

#include <cstdint>
#include <vector>

#include "engine/motion.h"
#include "trigger/advance.h"
#include "types/angle.h"
#include "types/time.h"
#include "types/wheel.h"

namespace drycrank::trigger {

struct TriggerEvent {
  TimeNs t_ns = kNever;
  int channel = -1;
  // Hall: the tooth edge; metal in front of the sensor from now on?
  // Variable reluctance: a lobe begins now; true for a tooth's begin (positive lobe).
  bool metal = false;
  // Variable reluctance: the lobe's end, if the motion goes on as it does; kNever, with peak 0,
  // when the crank comes to rest within it.
  TimeNs lobe_end_ns = 0;
  double lobe_peak_v = 0;   // signed open-circuit EMF at its peak; 0: no EMF until the next event
  double lobe_begin_v = 0;  // EMF now, which sinks to 0 beside the peak; not 0: the rest of a lobe
};

// Deviations that faults put into a channel.
struct ChannelFault {
  bool fitted = true;
  double late_deg = 0;               // wheel mounted late by crank degrees
  std::vector<int> missing_teeth{};  // 1-based
  double runout_deg = 0;  // an edge at w of its own shaft comes at w + this x sin(w - at)
  double runout_at_deg = 0;
  double runout_swing = 0;  // ... and a coil's lobe is 1 - this x cos(w - at) times as high
  std::vector<Tooth> extra_teeth{};  // of its own shaft, apart from the wheel's own
};

class Channel {
 public:
  Channel(const TurningWheel& wheel, int number);

  const TriggerEvent& next() const { return next_; }
  bool metal() const { return level_; }

  // REQUIRES: next().t_ns != kNever.
  void Take(const engine::Motion& motion);
  void Restart(TimeNs now_ns, const engine::Motion& motion);
  void SetAdvance(const Advance& advance) { advance_ = advance; }
  void SetFault(const ChannelFault& fault);

 private:
  // Where an event of the wheel comes: a Hall edge, or a lobe's begin.
  struct Mark {
    CrankAngle at;  // within the period
    double lobe_deg = 0;
    double height = 1;  // of the lobe
    bool metal = false;
    int tooth = 0;
    bool missing = false;
  };

  void CutMarks();
  bool Mount(const ChannelFault& fault);
  void Locate(TimeNs now_ns, const engine::Motion& motion);
  void ReplanLobe(TimeNs now_ns, const engine::Motion& motion);
  CrankAngle NextAngle() const;
  TimeNs TimeOf(const engine::Motion& motion, CrankAngle edge, TimeNs from_ns) const;
  double FluxOf(double height, bool metal) const {
    return (metal != back_ ? lobe_v_s_ : -lobe_v_s_) * height;
  }
  void Step();
  void StepBack();
  void Pass();
  void FindNext(TimeNs from_ns, const engine::Motion& motion, bool abuts);
  void FindLobe(const engine::Motion& motion, bool overtaken);
  void FindBack(TimeNs now_ns, const engine::Motion& motion);
  void FindRest(TimeNs now_ns, const engine::Motion& motion);

  TurningWheel wheel_;
  int number_;
  bool reluctance_;
  int period_turns_;
  double lobe_v_s_ = 0;  // peak x duration, the same for every lobe: equal change of flux
  std::vector<Mark> all_, present_;

  ChannelFault fault_;
  Advance advance_;

  bool placed_ = false;      // false: look the place up by angle
  bool started_ = false;     // a first Restart has been
  std::int64_t period_ = 0;  // the next mark is present_[index_] of this period
  std::size_t index_ = 0;
  bool level_ = false;      // by the place
  bool shown_ = false;      // Hall: last given
  bool cut_ = false;        // a lobe is to be cut short ...
  bool replanned_ = false;  // ... or ends at another time
  TimeNs lobe_end_ns_ = 0;  // as last given; 0: no EMF
  CrankAngle lobe_end_;
  double lobe_deg_ = 0;  // the whole lobe's width
  double lobe_height_ = 1;
  bool lobe_metal_ = false;
  bool back_ = false;        // the crank swings back ...
  bool lobe_back_ = false;   // ... as it did when the lobe in progress was given
  bool correcting_ = false;  // next_ is no edge of the wheel
  TriggerEvent next_;
};

}  // namespace drycrank::trigger

#endif  // DRYCRANK_TRIGGER_CHANNEL_H_
