// SPDX-License-Identifier: Apache-2.0
//
// What kind of network interface a name stands for, as the kernel tells over rtnetlink(7): "vcan",
// "vxcan", "can", ... An interface of a serial-line or USB adapter looks like a virtual one in /sys
// in some kernels; its kind does not, and sending on real hardware needs arming.
#ifndef DRYCRANK_IO_LINK_KIND_H_
#define DRYCRANK_IO_LINK_KIND_H_

#include <string>

namespace drycrank::io {

// Empty when the interface has no kind, does not exist, or the kernel does not answer.
std::string LinkKind(int interface_index);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_LINK_KIND_H_
