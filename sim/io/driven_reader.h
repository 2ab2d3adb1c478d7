// SPDX-License-Identifier: Apache-2.0
//
// What an interface drives, as the kernel has it at this moment: its gateway jobs (can-gw, asked for by
// RTM_GETROUTE of the family PF_CAN over rtnetlink; no rights are needed, a kernel without the module has
// none) and the peers of vxcan. Some system calls, and one more for each interface on the way: not on
// the way of a frame.
#ifndef DRYCRANK_IO_DRIVEN_READER_H_
#define DRYCRANK_IO_DRIVEN_READER_H_

#include <optional>
#include <vector>

#include "bus/driven.h"

namespace drycrank::io {

// Nothing: the kernel could not be asked.
std::optional<std::vector<bus::GatewayJob>> ReadGatewayJobs();

// `index`: the kernel's number of an interface. Nothing: it cannot be told.
std::optional<std::vector<bus::Driven>> ReadDriven(int index);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_DRIVEN_READER_H_
