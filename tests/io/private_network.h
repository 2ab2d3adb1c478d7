// SPDX-License-Identifier: Apache-2.0
//
// A network namespace of the test's own, in which the multicast group is routed to loopback.
// Without it python-can joins the group on the interface of the default route and would send on the
// real network.
#ifndef DRYCRANK_TESTS_IO_PRIVATE_NETWORK_H_
#define DRYCRANK_TESTS_IO_PRIVATE_NETWORK_H_

#include <string>

namespace drycrank::io {

// This process and its children are in it from now on. Returns what went wrong and what helps,
// empty if nothing.
std::string EnterPrivateNetwork();

}  // namespace drycrank::io

#endif  // DRYCRANK_TESTS_IO_PRIVATE_NETWORK_H_
