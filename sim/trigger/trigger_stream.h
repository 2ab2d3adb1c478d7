// SPDX-License-Identifier: Apache-2.0
//
// Wheels on crank and cam to what their sensors do, in time order over all channels.
//
// A Hall channel gives one event per tooth edge: metal in front of the sensor or not. A
// variable-reluctance channel gives one event per lobe of its EMF: the flux through the coil rises
// around a tooth's begin and falls around its end, each by a raised cosine, so that its derivative,
// the EMF, is a half sine per edge - positive while a tooth approaches, negative while it leaves:
//
//   metal   ____|~~~~~~|______|~~~~~~|____________|~~~~~~|
//   emf        /\              /\                  /\            peak ~ speed (Faraday:
//          ___/  \      ______/  \      __________/  \           e = -N dphi/dt)
//                 \    /          \    /              \    /
//                  \__/            \__/                \__/
//
// A lobe spans half the way to its neighbour edges on either side, whichever is shorter, so that the
// EMF of an even 50 % wheel is a pure sine with its falling zero at the tooth's centre.
//
// Angles: a tooth edge at wheel angle w (own shaft) is met at crank angle
//   offset + w (crank) or offset + 2 w (cam), less the cam's advance at that time.
#ifndef DRYCRANK_TRIGGER_TRIGGER_STREAM_H_
#define DRYCRANK_TRIGGER_TRIGGER_STREAM_H_

#include <span>
#include <vector>

#include "engine/motion.h"
#include "profile/bench.h"
#include "types/time.h"

namespace drycrank::trigger {

// A cam's advance as a broken line in time: advance(t) = at_begin + slope * (t - begin), clamped to
// the end value. One per channel; all zero for a fixed wheel.
struct Advance {
  TimeNs begin_ns = 0;
  double begin_deg = 0;        // degrees of crank; positive = earlier
  double slope_deg_per_s = 0;  // 0: constant
  TimeNs end_ns = kNever;      // constant from here on
};

struct TriggerEvent {
  TimeNs t_ns = kNever;
  int channel = -1;
  // Hall: the tooth edge; metal in front of the sensor from now on?
  // Variable reluctance: a lobe begins now.
  bool metal = false;
  TimeNs lobe_end_ns = 0;  // variable reluctance: the lobe's end, if the motion goes on as it does
  double lobe_peak_v = 0;  // signed open-circuit EMF at its peak; 0 between lobes
};

// Deviations that faults put into a channel.
struct ChannelFault {
  bool fitted = true;
  double late_deg = 0;             // wheel mounted late by crank degrees
  std::vector<int> missing_teeth;  // 1-based
};

class TriggerStream {
 public:
  TriggerStream(std::span<const profile::Trigger> triggers, const profile::Engine& engine);

  // The earliest event not before `now_ns`, without taking it; t_ns == kNever when there is none.
  // Ties go to the lower channel. Cheap when nothing changed since the last call.
  const TriggerEvent& Peek() const { return next_; }
  // Takes the event that Peek shows and finds the one after it.
  TriggerEvent Take(const engine::Motion& motion);

  // The motion got a new segment, or a channel a new advance or fault, at `now_ns`: edges before it
  // have been taken, later ones are computed anew. The advance must be continuous at now_ns, or a
  // step of it may skip or repeat no edge: an edge overtaken by a step comes at now_ns.
  void Restart(TimeNs now_ns, const engine::Motion& motion);
  void SetAdvance(int channel, const Advance& advance);
  void SetFault(int channel, const ChannelFault& fault);

  // Metal in front of channel's sensor now (the level a Hall channel starts with).
  bool metal(int channel) const;

 private:
  struct Channel;
  // ... (yours)
  TriggerEvent next_;
};

}  // namespace drycrank::trigger

#endif  // DRYCRANK_TRIGGER_TRIGGER_STREAM_H_
