// SPDX-License-Identifier: Apache-2.0
#include "io/can_socket.h"

#include <linux/can.h>
#include <linux/can/error.h>
#include <linux/can/raw.h>
#include <linux/net_tstamp.h>
#include <net/if.h>
#include <sys/socket.h>

#include <cerrno>
#include <utility>

#include "io/link_reader.h"

namespace drycrank::io {
namespace {

// The socket options whose lack would be noticed only later, as lost frames or a spinning sender.
bool SetUp(const Socket& socket, const bus::LinkFacts& facts) {
  const can_err_mask_t all_errors = CAN_ERR_MASK;
  // The smallest send buffer the kernel gives: a full queue then is EAGAIN, and poll() waits for
  // room. With the default one, write() fails with ENOBUFS while poll() says "writable".
  if (!SetOption(socket, SOL_SOCKET, SO_SNDBUF, 0) || !PrepareToReceive(socket) ||
      !SetOption(socket, SOL_CAN_RAW, CAN_RAW_ERR_FILTER, all_errors) ||
      !SetOption(socket, SOL_CAN_RAW, CAN_RAW_RECV_OWN_MSGS, 1)) {
    return false;
  }
  const int stamps = SOF_TIMESTAMPING_RX_HARDWARE | SOF_TIMESTAMPING_RAW_HARDWARE;
  if (facts.hardware_stamps) SetOption(socket, SOL_SOCKET, SO_TIMESTAMPING, stamps);
  return CarryFd(socket, facts.CarriesFd());
}

bool BindTo(const Socket& socket, int interface_index) {
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = interface_index;
  return bind(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof(address)) == 0;
}

OpenedCan Failed(int error, std::string step) {
  OpenedCan failed;
  failed.error = error;
  failed.step = std::move(step);
  return failed;
}

}  // namespace

bool CarryFd(const Socket& socket, bool on) {
  return SetOption(socket, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, on ? 1 : 0);
}

OpenedCan OpenCan(const std::string& interface) {
  OpenedCan opened;
  opened.socket = Socket(::socket(PF_CAN, SOCK_RAW | SOCK_NONBLOCK | SOCK_CLOEXEC, CAN_RAW));
  if (!opened.socket.is_open()) {
    const int error = errno;
    if (error == EAFNOSUPPORT || error == EPROTONOSUPPORT) {
      return Failed(error,
                    "this kernel has no CAN; try: modprobe can-raw, or use the multicast bus");
    }
    return Failed(error, "open a CAN socket");
  }
  const auto facts = interface.size() < IFNAMSIZ ? ReadLink(interface) : std::nullopt;
  if (!facts) {
    return Failed(ENODEV, "no interface named " + interface + "; ip link shows those there are");
  }
  if (!facts->is_can) {
    return Failed(ENODEV, interface +
                              " is not a CAN interface; ip -details link show type can, or "
                              "type vcan, shows those there are");
  }
  if (!SetUp(opened.socket, *facts)) return Failed(errno, "set up the socket");
  if (!BindTo(opened.socket, facts->index)) return Failed(errno, "bind " + interface);
  opened.facts = *facts;
  return opened;
}

}  // namespace drycrank::io
