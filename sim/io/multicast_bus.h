// SPDX-License-Identifier: Apache-2.0
//
// A bus without kernel support for CAN: every frame is one UDP datagram to an IPv4 multicast group
// on this machine's loopback interface (frame_datagram.h has the bytes). Any program that uses
// python-can's `udp_multicast` interface can join it.
//
// One bus is one UDP port: two groups on one port hear each other. Datagrams have time-to-live 0
// and never leave the machine. We send from a socket of our own with a port of its own, by which
// our own echo is told from others' frames. The medium is not a CAN: no arbitration, no
// acknowledgement, and a reader that is too slow loses frames (counted).
#ifndef DRYCRANK_IO_MULTICAST_BUS_H_
#define DRYCRANK_IO_MULTICAST_BUS_H_

#include <cstdint>
#include <string>

#include "bus/can_bus.h"
#include "bus/event_queue.h"
#include "io/socket.h"

namespace drycrank::io {

inline constexpr const char* kDefaultGroup = "239.74.163.2";
inline constexpr std::uint16_t kDefaultPort = 43113;

class MulticastBus : public bus::CanBus {
 public:
  // `bus`: index of the bus in the bench. Throws std::system_error when the group cannot be joined.
  // REQUIRES: `group` is an IPv4 multicast address. The clock must outlive the bus.
  MulticastBus(Clock& clock, int bus, const std::string& group, std::uint16_t port);

  std::string Description() const override { return description_; }
  bool IsVirtual() const override { return true; }
  bool Send(const bus::Frame& frame) override;
  std::optional<bus::TimedFrame> Receive() override;
  std::optional<bus::BusEvent> NextEvent() override { return events_.Pop(); }
  int FileDescriptor() const override { return receiver_.get(); }
  const bus::BusCounters& counters() const override { return counters_; }
  std::string Properties() const override { return "kernel receive stamps"; }

 private:
  void OpenReceiver();
  void OpenSender();
  void SendFailed(int error);
  bool IsOwnEcho(const sockaddr_in& from) const;
  void CountLost(std::uint32_t lost);

  int bus_;
  std::string description_;
  sockaddr_in group_{};
  sockaddr_in own_{};  // where our datagrams come from
  Socket receiver_;
  Socket sender_;
  bool up_ = true;
  bool full_ = false;  // the last frame was refused for want of room
  std::uint32_t lost_ = 0;
  ReceptionTime reception_time_;
  bus::EventQueue events_;
  bus::BusCounters counters_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_MULTICAST_BUS_H_
