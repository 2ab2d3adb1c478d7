// SPDX-License-Identifier: Apache-2.0
//
// A raw CAN socket as a bus needs it: error reports, our own frames come back as confirmation,
// stamps, the loss count, and a send buffer so small that a full queue makes poll() wait instead of
// write() fail and spin.
#ifndef DRYCRANK_IO_CAN_SOCKET_H_
#define DRYCRANK_IO_CAN_SOCKET_H_

#include <string>

#include "bus/link_facts.h"
#include "io/socket.h"

namespace drycrank::io {

// An empty step: opened.
struct OpenedCan {
  Socket socket;
  bus::LinkFacts facts;
  int error = 0;     // errno
  std::string step;  // what failed, and what helps
};
OpenedCan OpenCan(const std::string& interface);

// After the interface's frame size has changed. False: the kernel refuses.
bool CarryFd(const Socket& socket, bool on);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_CAN_SOCKET_H_
