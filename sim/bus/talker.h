// SPDX-License-Identifier: Apache-2.0
//
// A node that talks over and above cyclic messages: it hears the frames of the buses, and has frames
// of its own to send at times of its own. Pure: time is passed in, and it never waits.
#ifndef DRYCRANK_BUS_TALKER_H_
#define DRYCRANK_BUS_TALKER_H_

#include "bus/frame.h"

namespace drycrank::bus {

class Talker {
 public:
  virtual ~Talker() = default;
  // In time order; never its own.
  virtual void OnFrame(const TimedFrame& frame) = 0;
  // When TakeDue has something to do.
  virtual TimeNs NextDue() const = 0;
  // Does what is due up to t_ns; false when that left no frame to send.
  virtual bool TakeDue(TimeNs t_ns, TimedFrame& out) = 0;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_TALKER_H_
