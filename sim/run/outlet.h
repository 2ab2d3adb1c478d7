// SPDX-License-Identifier: Apache-2.0
//
// Where goes what a run makes at one instant: out at once (Runner), or aside until that instant has
// come (Ahead). Who makes it is not told which.
#ifndef DRYCRANK_RUN_OUTLET_H_
#define DRYCRANK_RUN_OUTLET_H_

#include <span>
#include <string>

#include "bus/frame.h"
#include "types/time.h"

namespace drycrank::run {

// Who sent a frame.
enum class Origin { kSimulator, kController, kDisplay, kOutside };

class Outlet {
 public:
  virtual ~Outlet() = default;
  // Per bus, how late what is due at t_ns would leave.
  virtual std::span<const TimeNs> LateNs(TimeNs t_ns) = 0;
  // `message`: its index in the bus; -1 for a frame of its own.
  virtual void Send(const bus::TimedFrame& frame, Origin origin, int message) = 0;
  // Of a recording, to the outside.
  virtual void SendReplayed(const bus::TimedFrame& frame, int message) = 0;
  // No wire carries it: an error report, or what a recording has as arrived.
  virtual void Tell(const bus::TimedFrame& frame, Origin origin) = 0;
  virtual void Note(const std::string& text, TimeNs t_ns) = 0;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_OUTLET_H_
