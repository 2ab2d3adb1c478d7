// SPDX-License-Identifier: Apache-2.0
#include "io/socketcan_bus.h"

#include <linux/can/error.h>
#include <linux/can/raw.h>
#include <net/if.h>
#include <net/if_arp.h>
#include <sys/ioctl.h>
#include <sys/socket.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <span>

#include "io/can_error.h"
#include "io/can_wire.h"
#include "io/link_kind.h"

namespace drycrank::io {
namespace {

constexpr TimeNs kTryAgainNs = 100 * kNsPerMs;
constexpr int kMaxReadsPerCall = 256;

ifreq RequestFor(const std::string& interface) {
  ifreq request{};
  std::memcpy(request.ifr_name, interface.data(),
              std::min<std::size_t>(interface.size(), IFNAMSIZ - 1));
  return request;
}

// The socket options whose lack would be noticed only later, as lost frames or a spinning sender.
bool SetUp(const Socket& socket, bool carries_fd) {
  const can_err_mask_t all_errors = CAN_ERR_MASK;
  // The smallest send buffer the kernel gives: a full queue then is EAGAIN at once. With the
  // default one, write() fails with ENOBUFS while poll() says "writable", and a sender spins.
  return SetOption(socket, SOL_SOCKET, SO_SNDBUF, 0) && PrepareToReceive(socket) &&
         SetOption(socket, SOL_CAN_RAW, CAN_RAW_ERR_FILTER, all_errors) &&
         (!carries_fd || SetOption(socket, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, 1));
}

bool BindTo(const Socket& socket, int index) {
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = index;
  return bind(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof(address)) == 0;
}

}  // namespace

SocketCanBus::SocketCanBus(Clock& clock, int bus, const std::string& interface)
    : clock_(clock), bus_(bus), interface_(interface), reception_time_(clock) {
  Failure failure = Open();
  if (failure.step.empty() && !IsInterfaceUp()) {
    failure = {ENETDOWN, interface_ + " is down; for hardware: ip link set " + interface_ +
                             " up type can bitrate 500000, for vcan: ip link set " + interface_ +
                             " up"};
  }
  if (!failure.step.empty()) {
    throw std::system_error(failure.error, std::generic_category(),
                            "socketcan:" + interface_ + ": " + failure.step);
  }
  WaitForStamps();
}

SocketCanBus::Failure SocketCanBus::Open() {
  Socket socket(::socket(PF_CAN, SOCK_RAW | SOCK_NONBLOCK | SOCK_CLOEXEC, CAN_RAW));
  if (!socket.is_open()) {
    const int error = errno;
    if (error == EAFNOSUPPORT || error == EPROTONOSUPPORT) {
      return {error, "this kernel has no CAN; try: modprobe can-raw, or use the multicast bus"};
    }
    return {error, "open a CAN socket"};
  }
  const int index = static_cast<int>(if_nametoindex(interface_.c_str()));
  if (index == 0 || interface_.size() >= IFNAMSIZ) {
    return {ENODEV, "no interface named " + interface_ + "; ip link shows those there are"};
  }
  ifreq request = RequestFor(interface_);
  if (ioctl(socket.get(), SIOCGIFHWADDR, &request) != 0) return {errno, "ask for its type"};
  if (request.ifr_hwaddr.sa_family != ARPHRD_CAN) {
    return {ENODEV, interface_ +
                        " is no CAN interface; ip -details link show type can, or type vcan, "
                        "shows those there are"};
  }
  request = RequestFor(interface_);
  if (ioctl(socket.get(), SIOCGIFMTU, &request) != 0) return {errno, "ask for its frame size"};
  carries_fd_ = request.ifr_mtu == CANFD_MTU;
  if (!SetUp(socket, carries_fd_)) return {errno, "set up the socket"};
  if (!BindTo(socket, index)) return {errno, "bind " + interface_};
  const std::string kind = LinkKind(index);
  const bool is_virtual = kind == "vcan" || kind == "vxcan";
  if (opened_once_ && is_virtual_ && !is_virtual) {
    return {ENODEV, interface_ + " was virtual and is hardware now; that needs arming"};
  }
  is_virtual_ = is_virtual;
  opened_once_ = true;
  socket_ = std::move(socket);
  lost_ = 0;
  return {};
}

bool SocketCanBus::IsInterfaceUp() const {
  ifreq request = RequestFor(interface_);
  return ioctl(socket_.get(), SIOCGIFFLAGS, &request) == 0 && (request.ifr_flags & IFF_UP) != 0;
}

bool SocketCanBus::Refuse() {
  ++counters_.send_refused;
  return false;
}

bool SocketCanBus::Send(const bus::Frame& frame) {
  if (!up_) ComeBack();
  if (!up_ || !bus::IsValid(frame) || (frame.fd && !carries_fd_)) return Refuse();
  const WireFrame wire = ToWire(frame);
  const ssize_t sent = send(socket_.get(), &wire.frame, wire.size, MSG_DONTWAIT | MSG_NOSIGNAL);
  if (sent == static_cast<ssize_t>(wire.size)) {
    ++counters_.sent;
    return true;
  }
  SocketFailed(errno);
  return Refuse();
}

void SocketCanBus::WentDown() {
  if (up_) events_.Push(bus::BusEvent::kDown);
  up_ = false;
}

void SocketCanBus::SocketFailed(int error) {
  switch (error) {
    case EAGAIN:
    case ENOBUFS:
      events_.Push(bus::BusEvent::kSendQueueFull);
      break;
    case ENODEV:
    case ENXIO:
      // Binding this socket again would let us send but never receive: the kernel has dropped its
      // filters.
      socket_.Close();
      WentDown();
      break;
    default:  // ENETDOWN
      WentDown();
  }
}

// The kernel tells when an interface goes, not when it comes: look now and then.
void SocketCanBus::ComeBack() {
  const TimeNs now_ns = clock_.Now();
  if (now_ns < next_try_ns_) return;
  next_try_ns_ = now_ns + kTryAgainNs;
  if (!socket_.is_open() && !Open().step.empty()) return;
  if (!IsInterfaceUp()) return;
  up_ = true;
  events_.Push(bus::BusEvent::kUp);
}

std::optional<bus::BusEvent> SocketCanBus::NextEvent() {
  if (!up_) ComeBack();
  return events_.Pop();
}

void SocketCanBus::CountLost(std::uint32_t lost) {
  if (lost == lost_) return;
  counters_.receive_lost += lost - lost_;
  lost_ = lost;
  events_.Push(bus::BusEvent::kOverrun);
}

std::optional<bus::TimedFrame> SocketCanBus::Receive() {
  if (!up_) ComeBack();
  for (int i = 0; i < kMaxReadsPerCall && socket_.is_open(); ++i) {
    canfd_frame wire{};
    const Datagram datagram =
        Read(socket_, std::span(reinterpret_cast<std::uint8_t*>(&wire), sizeof(wire)));
    if (datagram.error == EAGAIN) return std::nullopt;
    if (datagram.error != 0) {
      SocketFailed(datagram.error);
      return std::nullopt;
    }
    CountLost(datagram.lost);
    const std::optional<bus::Frame> frame = FromWire(wire, datagram.size);
    if (!frame) {
      ++counters_.malformed;
      continue;
    }
    if (frame->error) {
      AddEventsOf(*frame, events_);
    } else {
      ++counters_.received;
    }
    return bus::TimedFrame{reception_time_.Of(datagram.age_ns), bus_, false, *frame};
  }
  return std::nullopt;
}

}  // namespace drycrank::io
