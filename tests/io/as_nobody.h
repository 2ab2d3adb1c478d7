// SPDX-License-Identifier: Apache-2.0
//
// Runs something as an ordinary user, in a process of its own: what the kernel then allows is seen
// as a user without rights sees it.
#ifndef DRYCRANK_TESTS_IO_AS_NOBODY_H_
#define DRYCRANK_TESTS_IO_AS_NOBODY_H_

#include <functional>
#include <string>
#include <vector>

namespace drycrank::io {

// What `what` returns there. The user is the one that has nothing (65534), his limits allow neither
// real-time priority nor more than 64 KiB of locked memory, and of root's capabilities he has those
// in `kept` (linux/capability.h). Begins with "cannot" and the step when that is not to be had: it
// needs root.
std::string AsNobody(const std::vector<int>& kept, const std::function<std::string()>& what);

}  // namespace drycrank::io

#endif  // DRYCRANK_TESTS_IO_AS_NOBODY_H_
