// SPDX-License-Identifier: Apache-2.0
//
// The facts of this computer that decide whether frames arrive, and in time: CAN in the kernel,
// rights, limits, and where multicast goes. Nothing is changed, nothing is sent.
#ifndef DRYCRANK_IO_HOST_READER_H_
#define DRYCRANK_IO_HOST_READER_H_

#include <cstdint>
#include <string>

#include "bus/link_findings.h"

namespace drycrank::io {

bus::HostFacts ReadHost();
// Does this process have it in force? One of linux/capability.h.
bool HasCapability(int capability);

// REQUIRES: `group` is an IPv4 address.
bus::MulticastFacts ReadMulticast(const std::string& group, std::uint16_t port);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_HOST_READER_H_
