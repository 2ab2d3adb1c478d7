// SPDX-License-Identifier: Apache-2.0
//
// A bus of the kernel (SocketCAN): vcan, or hardware. Kernel documentation: networking/can.rst.
//
//   interface goes down       kDown; the same socket works again after up: kUp
//   interface is removed      kDown; the socket is closed, and opened anew when it is there again:
//   kUp send queue full           Send is false at once (kSendQueueFull), never a wait and never a
//   spin error reports             given as frames with `error` set, and as events where they mean
//   trouble
//
// CAUTION: what is sent on real hardware moves real outputs; IsVirtual() is false for anything that
// the kernel does not call vcan or vxcan, and a virtual interface that comes back as hardware of
// the same name is not opened.
#ifndef DRYCRANK_IO_SOCKETCAN_BUS_H_
#define DRYCRANK_IO_SOCKETCAN_BUS_H_

#include <string>
#include <system_error>

#include "bus/can_bus.h"
#include "bus/event_queue.h"
#include "io/socket.h"

namespace drycrank::io {

class SocketCanBus : public bus::CanBus {
 public:
  // `bus`: index of the bus in the bench. Throws std::system_error whose text names cause and
  // remedy: no CAN in this kernel, no such interface, not a CAN interface, interface down. The
  // clock must outlive the bus.
  SocketCanBus(Clock& clock, int bus, const std::string& interface);

  std::string Description() const override { return "socketcan:" + interface_; }
  bool IsVirtual() const override { return is_virtual_; }
  bool Send(const bus::Frame& frame) override;
  std::optional<bus::TimedFrame> Receive() override;
  std::optional<bus::BusEvent> NextEvent() override;
  int FileDescriptor() const override { return socket_.get(); }  // -1 while the interface is gone
  const bus::BusCounters& counters() const override { return counters_; }

  bool carries_fd() const { return carries_fd_; }

 private:
  // An empty step: opened.
  struct Failure {
    int error = 0;
    std::string step;
  };
  Failure Open();
  bool IsInterfaceUp() const;
  bool Refuse();
  void WentDown();
  void SocketFailed(int error);
  void ComeBack();
  void CountLost(std::uint32_t lost);

  Clock& clock_;
  int bus_;
  std::string interface_;
  Socket socket_;
  bool carries_fd_ = false;
  bool is_virtual_ = false;
  bool opened_once_ = false;
  bool up_ = true;
  TimeNs next_try_ns_ = 0;  // while down
  std::uint32_t lost_ = 0;
  ReceptionTime reception_time_;
  bus::EventQueue events_;
  bus::BusCounters counters_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_SOCKETCAN_BUS_H_
