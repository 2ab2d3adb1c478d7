// SPDX-License-Identifier: Apache-2.0
#include "tests/io/private_network.h"

#include <sched.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>

namespace drycrank::io {

std::string EnterPrivateNetwork() {
  if (unshare(CLONE_NEWNET) != 0) {
    return std::string("cannot make a network namespace: ") + std::strerror(errno) +
           "; this test needs root (CAP_SYS_ADMIN) and a kernel with network namespaces";
  }
  const char* set_up =
      "PATH=$PATH:/usr/sbin:/sbin; "
      "ip link set lo up && ip route add 239.74.163.2/32 dev lo";
  if (std::system(set_up) != 0) {
    return std::string("failed: ") + set_up + "; this test needs the package iproute2";
  }
  return "";
}

}  // namespace drycrank::io
