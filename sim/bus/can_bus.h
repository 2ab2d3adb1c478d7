// SPDX-License-Identifier: Apache-2.0
//
// The shape of a bus interface. Nothing here blocks, and trouble is an event, not an exception: an
// interface that went down says so once and comes back by itself.
#ifndef DRYCRANK_BUS_CAN_BUS_H_
#define DRYCRANK_BUS_CAN_BUS_H_

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "bus/driven.h"
#include "bus/frame.h"

namespace drycrank::bus {

enum class BusEvent {
  kUp,            // after kDown or kBusOff; whether sending works again has yet to be seen
  kDown,          // interface down or gone; sending is refused until kUp
  kBusOff,        // the controller has left the bus; sending is refused until kUp
  kErrorActive,   // the controller is well again
  kErrorWarning,  // 96 errors or more on its counters
  kErrorPassive,  // 128 or more
  kNoAcknowledge,
  kBusError,         // a bit, stuff, form or checksum error on the bus
  kTransmitTimeout,  // the driver gave up on a frame
  kTransceiver,      // the transceiver reports a fault of the lines
  kOverrun,          // frames were lost on reception
  kSendQueueFull,
  kUnconfirmed,  // a frame was taken, and no confirmation came that it was sent
  kListenOnly,   // what is given to send is swallowed; it is refused
  kFdRefused,    // an FD frame on an interface that carries none
  kNotArmed,     // it drives hardware that nobody has armed; what is given to send is refused
  kArmed,        // it may send again
  kSending,      // what is sent gets out again
};
inline constexpr std::size_t kBusEventKinds = static_cast<std::size_t>(BusEvent::kSending) + 1;
const char* Name(BusEvent event);

struct BusCounters {
  std::uint64_t sent = 0, received = 0, send_refused = 0, receive_lost = 0, malformed = 0;
  // Of `sent`, where the interface tells; the rest is still on its way.
  std::uint64_t confirmed = 0, unconfirmed = 0;
  std::uint64_t error_reports = 0;
};

class CanBus {
 public:
  virtual ~CanBus() = default;

  // "inproc", "multicast:239.74.163.2:43113", "socketcan:can0".
  virtual std::string Description() const = 0;
  // False: real hardware may listen, and sending is refused (kNotArmed) until Arm().
  virtual bool IsVirtual() const = 0;
  // The hardware that gets what is sent here, as of the last look.
  virtual std::vector<Driven> Drives() const { return {}; }
  // Allows what Drives() has, and that alone: not what may be there later under the same name.
  virtual void Arm() {}
  virtual bool IsArmed() const { return true; }
  // False: not sent (queue full, down); counted, and an event tells why.
  virtual bool Send(const Frame& frame) = 0;
  // The next frame received, if any. `sent` frames are never given back to their sender.
  // t_ns is the time of reception on the run's clock, negative for what came before its start.
  virtual std::optional<TimedFrame> Receive() = 0;
  virtual std::optional<BusEvent> NextEvent() = 0;
  // For poll(); -1 for an in-process bus.
  virtual int FileDescriptor() const { return -1; }
  virtual const BusCounters& counters() const = 0;

  // What a reader of a record must know about it: "kernel receive stamps, ..."; may be empty.
  virtual std::string Properties() const { return ""; }
  // The event in words, with what is known of its cause and remedy.
  virtual std::string Describe(BusEvent event) const { return Name(event); }
  virtual bool CarriesFd() const { return true; }
  // Whether it tells that a frame was sent; if not, `confirmed` and `unconfirmed` mean nothing.
  virtual bool Confirms() const { return false; }
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_CAN_BUS_H_
