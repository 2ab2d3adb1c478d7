// SPDX-License-Identifier: Apache-2.0
//
// A bus inside the process: any number of ends on one hub. A frame sent by one end is received by
// all others, in the order of sending, at the hub's time; queues are bounded. No thread of its own
// and no lock: one thread uses a hub and its ends, and the same calls give the same frames.
//
//   InprocBus a ──┐
//   InprocBus b ──┼── InprocHub      a.Send(f)  →  b.Receive() == f, c.Receive() == f
//   InprocBus c ──┘
#ifndef DRYCRANK_BUS_INPROC_BUS_H_
#define DRYCRANK_BUS_INPROC_BUS_H_

#include <memory>
#include <vector>

#include "bus/can_bus.h"
#include "bus/event_queue.h"
#include "bus/ring.h"
#include "types/clock.h"

namespace drycrank::bus {

class InprocBus;

class InprocHub {
 public:
  // Frames are stamped with clock.Now() and `bus`, the bus's index in the bench. The clock must
  // outlive the hub. `queue_frames`: how many frames wait at most at each end.
  explicit InprocHub(Clock& clock, int bus = 0, std::size_t queue_frames = 1024);

  // Trouble as a real interface would have it: every end gets the event. After kDown and kBusOff
  // nothing is carried until kUp.
  void Report(BusEvent event);

 private:
  friend class InprocBus;
  bool Carry(const InprocBus& from, const Frame& frame);

  Clock& clock_;
  int bus_;
  std::size_t queue_frames_;
  bool up_ = true;
  std::vector<InprocBus*> ends_;  // in the order they were attached
};

class InprocBus : public CanBus {
 public:
  explicit InprocBus(std::shared_ptr<InprocHub> hub);
  ~InprocBus() override;
  InprocBus(const InprocBus&) = delete;
  InprocBus& operator=(const InprocBus&) = delete;

  std::string Description() const override { return "inproc"; }
  bool IsVirtual() const override { return true; }
  bool Send(const Frame& frame) override;
  std::optional<TimedFrame> Receive() override;
  std::optional<BusEvent> NextEvent() override { return events_.Pop(); }
  const BusCounters& counters() const override { return counters_; }

 private:
  friend class InprocHub;
  void Deliver(const TimedFrame& frame);

  std::shared_ptr<InprocHub> hub_;
  Ring<TimedFrame> received_;
  EventQueue events_;
  BusCounters counters_;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_INPROC_BUS_H_
