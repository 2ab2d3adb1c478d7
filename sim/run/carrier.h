// SPDX-License-Identifier: Apache-2.0
//
// How frames get onto the buses of a run. A bus inside this process is a Wire: a frame takes its
// time there and contends with the others. A bus with an interface to the outside is as fast as
// what stands behind it: the frame is handed over at once, and how late that was is kept per
// message.
#ifndef DRYCRANK_RUN_CARRIER_H_
#define DRYCRANK_RUN_CARRIER_H_

#include <span>
#include <vector>

#include "bus/can_bus.h"
#include "bus/lateness.h"
#include "bus/wire.h"
#include "profile/bench.h"
#include "types/clock.h"

namespace drycrank::run {

class Carrier {
 public:
  struct Arrival {
    bus::TimedFrame frame;
    int sender = 0;
  };

  // `interfaces`: one per bus, nullptr for a bus in this process. `clock` tells how late a frame
  // leaves; nullptr, or virtual time: nothing is ever late. All must outlive it.
  Carrier(const profile::Bench& bench, std::span<bus::CanBus* const> interfaces, Clock* clock);

  // A frame due at its t_ns. `message`: its index in the bus, for its mailbox and its lateness; -1
  // for a frame of its own. True: it is on the bus, and everybody sees it now; false: it is on its
  // way, and arrives later.
  bool Send(const bus::TimedFrame& frame, int sender, int message);
  // After all that is due at this instant was sent.
  void Begin(TimeNs t_ns);
  TimeNs NextDueNs() const;
  // The next frame that has arrived by t_ns on a bus in this process.
  bool TakeArrival(TimeNs t_ns, Arrival& out);

  // Per bus, how late what is due at t_ns would leave now; 0 for buses in this process.
  std::span<const TimeNs> LateNs(TimeNs t_ns);

  // For the report. nullptr: not that kind of bus.
  const bus::Wire* wire(int bus) const;
  const bus::Lateness* lateness(int bus, int message) const;

 private:
  struct Line {
    bus::CanBus* outside = nullptr;
    std::vector<bus::Wire> wire;  // one, or none
    std::vector<bus::Lateness> lateness;
  };
  std::vector<Line> lines_;
  std::vector<TimeNs> late_ns_;
  Clock* clock_;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_CARRIER_H_
