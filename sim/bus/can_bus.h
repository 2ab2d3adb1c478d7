// SPDX-License-Identifier: Apache-2.0
//
// The shape of a bus interface. Nothing here blocks, and trouble is an event, not an exception: an
// interface that went down says so once and comes back by itself.
#ifndef DRYCRANK_BUS_CAN_BUS_H_
#define DRYCRANK_BUS_CAN_BUS_H_

#include <cstdint>
#include <optional>
#include <string>

#include "bus/frame.h"

namespace drycrank::bus {

enum class BusEvent {
  kUp,
  kDown,  // interface down or gone; sending is refused until kUp
  kBusOff,
  kErrorPassive,
  kOverrun,  // frames were lost on reception
  kSendQueueFull,
};
const char* Name(BusEvent event);

struct BusCounters {
  std::uint64_t sent = 0, received = 0, send_refused = 0, receive_lost = 0, malformed = 0;
};

class CanBus {
 public:
  virtual ~CanBus() = default;

  // "inproc", "multicast:239.74.163.2:43113", "socketcan:can0".
  virtual std::string Description() const = 0;
  // Real hardware may listen: sending needs arming.
  virtual bool IsVirtual() const = 0;
  // False: not sent (queue full, down); counted, and an event tells why.
  virtual bool Send(const Frame& frame) = 0;
  // The next frame received, if any. `sent` frames are never given back to their sender.
  // t_ns is the time of reception on the run's clock (see `SetOrigin` of the real ones).
  virtual std::optional<TimedFrame> Receive() = 0;
  virtual std::optional<BusEvent> NextEvent() = 0;
  // For poll(); -1 for an in-process bus.
  virtual int FileDescriptor() const { return -1; }
  virtual const BusCounters& counters() const = 0;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_CAN_BUS_H_
