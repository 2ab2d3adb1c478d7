// SPDX-License-Identifier: Apache-2.0
//
// Which of the frames we gave to an interface it has confirmed as sent. A confirmation is the frame
// itself come back; controllers with several send buffers may confirm out of order, so it is
// matched by content, oldest first. What is not confirmed in kConfirmWithinNs counts as
// unconfirmed, until it is after all. All memory is taken at construction.
#ifndef DRYCRANK_BUS_CONFIRMATIONS_H_
#define DRYCRANK_BUS_CONFIRMATIONS_H_

#include <cstdint>
#include <vector>

#include "bus/can_bus.h"
#include "bus/frame.h"
#include "types/time.h"

namespace drycrank::bus {

// The longest frame at 10 kbit/s takes 16 ms; a quarter of a second is long for a queue of ten of
// them, and short before a display calls its values stale (common practice, no source).
inline constexpr TimeNs kConfirmWithinNs = 250 * kNsPerMs;

class Confirmations {
 public:
  // At most so many frames are waited for; beyond, the oldest counts as unconfirmed at once.
  explicit Confirmations(BusCounters& counters, std::size_t frames = 512);

  void OnSent(const Frame& frame, TimeNs t_ns);
  // A frame of ours came back. False: none such is waited for.
  bool OnEcho(const Frame& frame);
  // True when a frame has become unconfirmed since the last call.
  bool Expire(TimeNs t_ns);
  // The interface is gone: what is still waited for will not come.
  void GiveUp();

 private:
  struct Waiting {
    Frame frame;
    TimeNs t_ns = 0;
    bool late = false;  // counted as unconfirmed
    bool done = false;
  };
  Waiting& At(std::size_t i) { return waiting_[(first_ + i) % waiting_.size()]; }
  void DropDone();
  void MarkLate(Waiting& waiting);

  BusCounters& counters_;
  std::vector<Waiting> waiting_;
  std::size_t first_ = 0, count_ = 0;
  std::size_t on_time_ = 0;  // index of the first that is neither late nor done before it
  bool expired_ = false;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_CONFIRMATIONS_H_
