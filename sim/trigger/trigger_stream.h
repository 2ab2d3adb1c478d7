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
// A lobe spans half the way to its neighbour edges on either side, whichever is shorter, so that
// the EMF of an even 50 % wheel is a pure sine with its falling zero at the tooth's centre. Where teeth
// are wider than slots it reaches to the tooth's centre all the same (wheel_edges.h).
//
// Angles: a tooth edge at wheel angle w (own shaft) is met at crank angle
//   offset + w (crank) or offset + 2 w (cam), less the cam's advance at that time.
#ifndef DRYCRANK_TRIGGER_TRIGGER_STREAM_H_
#define DRYCRANK_TRIGGER_TRIGGER_STREAM_H_

#include <span>
#include <vector>

#include "engine/motion.h"
#include "trigger/advance.h"
#include "trigger/channel.h"
#include "types/time.h"
#include "types/wheel.h"

namespace drycrank::trigger {

class TriggerStream {
 public:
  // Nothing comes before the first Restart, which finds the wheels' places from the motion's angle.
  explicit TriggerStream(std::span<const TurningWheel> wheels);

  // The earliest event not before `now_ns`, without taking it; t_ns == kNever when there is none.
  // Ties go to the lower channel. Cheap when nothing changed since the last call.
  const TriggerEvent& Peek() const { return next_; }
  // Takes the event that Peek shows and finds the one after it.
  TriggerEvent Take(const engine::Motion& motion);

  // The motion got a new segment, or a channel a new advance or fault, at `now_ns`: edges before it
  // have been taken, later ones are computed anew. An advance that steps neither loses nor repeats
  // an edge: those it overtakes come at now_ns, one after the other; those it puts off again do not
  // come twice. A fault that changes a wheel gives the level it then has (channel.h).
  void Restart(TimeNs now_ns, const engine::Motion& motion);
  void SetAdvance(int channel, const Advance& advance);
  void SetFault(int channel, const ChannelFault& fault);

  // Metal in front of channel's sensor now (the level a Hall channel starts with).
  bool metal(int channel) const;

 private:
  void Select();

  std::vector<Channel> channels_;
  TriggerEvent next_;
};

}  // namespace drycrank::trigger

#endif  // DRYCRANK_TRIGGER_TRIGGER_STREAM_H_
