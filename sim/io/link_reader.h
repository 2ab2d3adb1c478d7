// SPDX-License-Identifier: Apache-2.0
//
// The facts of a network interface as the kernel tells them over rtnetlink(7): one question, one
// answer. An interface of a serial-line or USB adapter looks like a virtual one in /sys in some
// kernels; its kind does not, and sending on real hardware needs arming.
#ifndef DRYCRANK_IO_LINK_READER_H_
#define DRYCRANK_IO_LINK_READER_H_

#include <optional>
#include <string>
#include <vector>

#include "bus/link_facts.h"

namespace drycrank::io {

// Nothing when there is no such interface, or the kernel does not answer.
std::optional<bus::LinkFacts> ReadLink(const std::string& interface);

// The same by the kernel's number, which stays when the name goes to another.
std::optional<bus::LinkFacts> ReadLink(int index);

// Names of all CAN interfaces, virtual or not, in the kernel's order.
std::vector<std::string> CanInterfaces();

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_LINK_READER_H_
