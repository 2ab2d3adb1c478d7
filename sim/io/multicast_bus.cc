// SPDX-License-Identifier: Apache-2.0
#include "io/multicast_bus.h"

#include <arpa/inet.h>
#include <sys/socket.h>

#include <array>
#include <cerrno>
#include <span>
#include <system_error>

#include "io/frame_datagram.h"

namespace drycrank::io {
namespace {

// More of our own echo and junk in a row than this waits for the next call.
constexpr int kMaxDatagramsPerCall = 256;

[[noreturn]] void Fail(const std::string& step) {
  throw std::system_error(errno, std::generic_category(), step);
}

Socket UdpSocket() {
  Socket socket(::socket(AF_INET, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
  if (!socket.is_open()) Fail("open a UDP socket");
  return socket;
}

bool Bind(const Socket& socket, const sockaddr_in& address) {
  return bind(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof(address)) == 0;
}

}  // namespace

MulticastBus::MulticastBus(Clock& clock, int bus, const std::string& group, std::uint16_t port)
    : bus_(bus),
      description_("multicast:" + group + ":" + std::to_string(port)),
      reception_time_(clock) {
  group_.sin_family = AF_INET;
  group_.sin_port = htons(port);
  if (inet_pton(AF_INET, group.c_str(), &group_.sin_addr) != 1) {
    errno = EINVAL;
    Fail(description_ + ": read the group's address");
  }
  OpenReceiver();
  OpenSender();
  WaitForStamps();
}

void MulticastBus::OpenReceiver() {
  receiver_ = UdpSocket();
  if (!SetOption(receiver_, SOL_SOCKET, SO_REUSEADDR, 1) || !PrepareToReceive(receiver_)) {
    Fail(description_ + ": set up the receiving socket");
  }
  // Bound to the group and not to any address: datagrams sent straight to this machine stay out.
  if (!Bind(receiver_, group_)) Fail(description_ + ": bind the port");
  // Only what comes by loopback: with the kernel's default, another program that joins the group on a
  // network card would bring us the frames of that network.
  if (!SetOption(receiver_, IPPROTO_IP, IP_MULTICAST_ALL, 0)) {
    Fail(description_ + ": keep the receiving socket on 127.0.0.1");
  }
  ip_mreqn membership{};
  membership.imr_multiaddr = group_.sin_addr;
  membership.imr_address.s_addr = htonl(INADDR_LOOPBACK);
  if (!SetOption(receiver_, IPPROTO_IP, IP_ADD_MEMBERSHIP, membership)) {
    Fail(description_ + ": join the group on 127.0.0.1 (is it up? ip link set lo up)");
  }
}

void MulticastBus::OpenSender() {
  sender_ = UdpSocket();
  ip_mreqn interface {};
  interface.imr_address.s_addr = htonl(INADDR_LOOPBACK);
  if (!SetOption(sender_, IPPROTO_IP, IP_MULTICAST_IF, interface) ||
      !SetOption(sender_, IPPROTO_IP, IP_MULTICAST_TTL, 0)) {
    Fail(description_ + ": keep the sending socket on 127.0.0.1");
  }
  own_.sin_family = AF_INET;
  own_.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof(own_);
  if (!Bind(sender_, own_) ||
      getsockname(sender_.get(), reinterpret_cast<sockaddr*>(&own_), &size) != 0) {
    Fail(description_ + ": bind the sending socket");
  }
}

bool MulticastBus::Send(const bus::Frame& frame) {
  if (!bus::IsValid(frame)) {
    ++counters_.send_refused;
    return false;
  }
  const EncodedFrame datagram = EncodeDatagram(frame);
  const ssize_t sent =
      sendto(sender_.get(), datagram.buffer.data(), datagram.size, MSG_DONTWAIT | MSG_NOSIGNAL,
             reinterpret_cast<const sockaddr*>(&group_), sizeof(group_));
  if (sent < 0) {
    SendFailed(errno);
    return false;
  }
  if (!up_) events_.Push(bus::BusEvent::kUp);
  if (full_) events_.Push(bus::BusEvent::kSending);
  up_ = true;
  full_ = false;
  ++counters_.sent;
  return true;
}

void MulticastBus::SendFailed(int error) {
  ++counters_.send_refused;
  if (error == EAGAIN || error == ENOBUFS) {
    events_.Push(bus::BusEvent::kSendQueueFull);
    full_ = true;
    return;
  }
  if (up_) events_.Push(bus::BusEvent::kDown);
  up_ = false;
}

bool MulticastBus::IsOwnEcho(const sockaddr_in& from) const {
  return from.sin_port == own_.sin_port && from.sin_addr.s_addr == own_.sin_addr.s_addr;
}

void MulticastBus::CountLost(std::uint32_t lost) {
  if (lost == lost_) return;
  counters_.receive_lost += lost - lost_;
  lost_ = lost;
  events_.Push(bus::BusEvent::kOverrun);
}

std::optional<bus::TimedFrame> MulticastBus::Receive() {
  std::array<std::uint8_t, 1024> buffer;
  for (int i = 0; i < kMaxDatagramsPerCall; ++i) {
    const Datagram datagram = Read(receiver_, buffer);
    if (datagram.error == EAGAIN) reception_time_.FoundNothing();
    if (datagram.error != 0) return std::nullopt;
    CountLost(datagram.lost);
    if (IsOwnEcho(datagram.from)) continue;
    const std::optional<bus::Frame> frame =
        datagram.truncated ? std::nullopt : DecodeDatagram(std::span(buffer).first(datagram.size));
    if (!frame) {
      ++counters_.malformed;
      continue;
    }
    ++counters_.received;
    return bus::TimedFrame{reception_time_.Of(datagram.age_ns), bus_, false, *frame};
  }
  return std::nullopt;
}

}  // namespace drycrank::io
