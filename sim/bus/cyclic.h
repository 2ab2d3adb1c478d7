// SPDX-License-Identifier: Apache-2.0
//
// When the messages of one sender are due: k * period + phase on integer deadlines, never "now +
// period"; a slot that was missed is skipped and counted, never sent in a burst.
#ifndef DRYCRANK_BUS_CYCLIC_H_
#define DRYCRANK_BUS_CYCLIC_H_

#include <cstdint>
#include <string_view>
#include <vector>

#include "bus/frame.h"
#include "profile/bench.h"

namespace drycrank::bus {

// One cyclic transmission.
struct Slot {
  int bus = 0;
  int message = 0;
  TimeNs period_ns = 0;
  TimeNs next_ns = 0;
  std::uint64_t sent = 0;  // also the rolling counter's source
  std::uint64_t skipped = 0;
  // A fault: each early_every-th frame comes early_ns before its deadline.
  TimeNs early_ns = 0;
  std::uint64_t early_every = 1;

  TimeNs DueNs() const {
    return early_ns > 0 && (sent + 1) % early_every == 0 ? next_ns - early_ns : next_ns;
  }
};

class CyclicSender {
 public:
  // All messages of `sender` on all buses that have a period.
  CyclicSender(const profile::Bench& bench, profile::Sender sender);

  TimeNs NextDue() const;  // kNever when there is none
  // The slot due at or before now, which is then advanced to its next deadline after now; nullptr
  // when none is due. Order among equal deadlines: as in the profile. What is returned is the slot
  // as it fell due (next_ns: the deadline met; sent: frames before this one) and lasts until the
  // next call.
  const Slot* TakeDue(TimeNs now_ns);

  const std::vector<Slot>& slots() const { return slots_; }
  // A fault stretches a message's period (factor 1 = back to normal), from its next deadline on.
  // REQUIRES: factor > 0. Messages without a slot are left alone.
  void SetPeriodFactor(int bus, int message, double factor);
  // Each every-th frame of a message comes early_ns before its deadline (0: none does).
  // REQUIRES: 0 <= early_ns, every > 0.
  void SetEarly(int bus, int message, TimeNs early_ns, std::uint64_t every);

 private:
  bool IsLater(std::size_t a, std::size_t b) const;
  void Order();

  std::vector<Slot> slots_;
  std::vector<TimeNs> nominal_ns_;  // periods as in the profile, one per slot
  std::vector<std::size_t> heap_;   // of slots: the one with the earliest deadline in front
  Slot taken_;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_CYCLIC_H_
