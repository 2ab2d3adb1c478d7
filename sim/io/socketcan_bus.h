// SPDX-License-Identifier: Apache-2.0
//
// A bus of the kernel (SocketCAN): vcan, or hardware. Kernel documentation: networking/can.rst.
//
//   interface goes down      kDown; the same socket works again after up: kUp
//   interface is removed     kDown; the socket is closed, and opened anew when the interface is
//                            there again: kUp
//   bus-off                  kBusOff; kUp when the controller restarts, by itself or by hand
//   send queue full          Send is false at once (kSendQueueFull), never a wait and never a spin
//   listen-only; FD frame    Send is false (kListenOnly, kFdRefused): the driver would swallow the
//     on classical interface one, the kernel refuse the other
//   frame never confirmed    kUnconfirmed: something on the way drops in silence
//   frames get out again     kSending
//   error reports            given as frames with `error` set, and as events where they mean
//                            trouble
//
// Whatever is not sent or not received is in a counter: sent = confirmed + unconfirmed + those of
// the last quarter of a second; refused frames are not among `sent`.
//
// CAUTION: what is sent on real hardware moves real outputs. What is armed is what the kernel would do
// with a frame, not a name: Drives() has each piece of hardware that a frame would reach
// (bus/driven.h), by index, name and kind, and Arm() allows these.
//
//   other hardware of the name came,     kNotArmed: it is opened to listen, sending is refused until
//     or the same one came back            Arm(), for nobody can tell the one from the other
//   it was renamed                       gone, as if it had been removed
//   a gateway job made, a vcan bridged   kNotArmed; looked for each tenth of a second, so in that time
//                                          the kernel passes on what was sent
//   nothing unarmed is driven any more   kArmed
#ifndef DRYCRANK_IO_SOCKETCAN_BUS_H_
#define DRYCRANK_IO_SOCKETCAN_BUS_H_

#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "bus/confirmations.h"
#include "bus/event_queue.h"
#include "bus/link_facts.h"
#include "io/can_socket.h"
#include "io/hardware_time.h"
#include "io/socket.h"

namespace drycrank::io {

class SocketCanBus : public bus::CanBus {
 public:
  // `bus`: index of the bus in the bench. Throws std::system_error whose text names cause and
  // remedy: no CAN in this kernel, no such interface, not a CAN interface, interface down. The
  // clock must outlive the bus.
  SocketCanBus(Clock& clock, int bus, const std::string& interface);

  std::string Description() const override { return "socketcan:" + interface_; }
  bool IsVirtual() const override { return drives_.empty(); }
  std::vector<bus::Driven> Drives() const override { return drives_; }
  void Arm() override;
  bool IsArmed() const override { return may_send_; }
  bool Send(const bus::Frame& frame) override;
  std::optional<bus::TimedFrame> Receive() override;
  std::optional<bus::BusEvent> NextEvent() override;
  int FileDescriptor() const override { return socket_.get(); }  // -1 while the interface is gone
  const bus::BusCounters& counters() const override { return counters_; }
  std::string Properties() const override;
  std::string Describe(bus::BusEvent event) const override;
  bool CarriesFd() const override { return facts_.CarriesFd(); }
  bool Confirms() const override { return true; }

 private:
  bool Refuse(bus::BusEvent event);
  void Tend();
  void ComeBack();
  bool IsBack();
  void WentDown();
  void SocketFailed(int error);
  void Take(OpenedCan opened);
  void TakeDriven(std::vector<bus::Driven> drives);
  std::vector<bus::Driven> Driven() const;
  void WatchDriven();
  void SendTrouble(bus::BusEvent event);
  void OnEcho(const bus::Frame& frame);
  void OnErrorReport(const bus::Frame& report);
  void CountLost(std::uint32_t lost);
  TimeNs ReceivedAt(const Datagram& datagram);

  Clock& clock_;
  int bus_;
  std::string interface_;
  bus::LinkFacts facts_;  // as they were when the interface last came up
  Socket socket_;
  std::vector<bus::Driven> drives_, armed_;
  bool may_send_ = false;
  TimeNs next_look_ns_ = 0;       // at what it drives
  bool up_ = true, off_ = false;  // off_: bus-off
  bool mute_ = false;             // what we send does not get out
  TimeNs last_mute_ns_ = 0;
  TimeNs next_try_ns_ = 0;  // while down or off
  std::uint32_t lost_ = 0;
  HardwareTime hardware_time_;
  ReceptionTime reception_time_;
  bus::EventQueue events_;
  bus::BusCounters counters_;
  bus::Confirmations confirmations_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_SOCKETCAN_BUS_H_
