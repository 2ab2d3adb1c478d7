// SPDX-License-Identifier: Apache-2.0
//
// Buses by name, as a person writes them on the command line:
//
//   inproc                        inside this process
//   multicast[:GROUP][:PORT]      UDP on loopback; default 239.74.163.2, port 43113 + index of
//                                 the bus
//   socketcan:NAME                a CAN interface of the kernel
#ifndef DRYCRANK_IO_INTERFACE_H_
#define DRYCRANK_IO_INTERFACE_H_

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <variant>

#include "bus/can_bus.h"
#include "bus/inproc_bus.h"

namespace drycrank::io {

struct InprocAddress {};
struct MulticastAddress {
  std::string group;
  std::uint16_t port = 0;
};
struct SocketCanAddress {
  std::string interface;
};
// The last kind is what is wrong with the text, and what would be right.
using BusAddress = std::variant<InprocAddress, MulticastAddress, SocketCanAddress, std::string>;

// `bus`: index of the bus in the bench; one bus is one multicast port.
BusAddress ParseBusAddress(std::string_view text, int bus);

// One of the two is empty.
struct [[nodiscard]] OpenedBus {
  std::unique_ptr<bus::CanBus> bus;
  std::string error;  // the step that failed, why, and what helps
};
// `hub` is what an "inproc" bus is attached to. The clock must outlive the bus.
OpenedBus OpenBus(std::string_view text, Clock& clock, int bus,
                  std::shared_ptr<bus::InprocHub> hub = nullptr);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_INTERFACE_H_
