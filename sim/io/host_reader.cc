// SPDX-License-Identifier: Apache-2.0
#include "io/host_reader.h"

#include <arpa/inet.h>
#include <linux/can.h>
#include <linux/capability.h>
#include <linux/netlink.h>
#include <linux/rtnetlink.h>
#include <net/if.h>
#include <sys/resource.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>

#include "io/link_reader.h"
#include "io/socket.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

std::int64_t NumberIn(const char* path) {
  std::ifstream file(path);
  std::int64_t number = 0;
  file >> number;
  return number;
}

rlim_t Limit(__rlimit_resource_t which) {
  rlimit limit{};
  return getrlimit(which, &limit) == 0 ? limit.rlim_cur : 0;
}

// The interface that the kernel's routes give for the destination; empty: none.
std::string RouteTo(in_addr destination) {
  const Socket socket(::socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE));
  struct {
    nlmsghdr head;
    rtmsg route;
    rtattr attribute;
    in_addr address;
  } request{};
  request.head.nlmsg_len = sizeof(request);
  request.head.nlmsg_type = RTM_GETROUTE;
  request.head.nlmsg_flags = NLM_F_REQUEST;
  request.route.rtm_family = AF_INET;
  request.route.rtm_dst_len = 32;
  request.attribute = {sizeof(rtattr) + sizeof(in_addr), RTA_DST};
  request.address = destination;
  if (!socket.is_open() || send(socket.get(), &request, sizeof(request), 0) < 0) return "";
  alignas(nlmsghdr) std::array<char, 4096> answer{};
  const ssize_t size = recv(socket.get(), answer.data(), answer.size(), 0);
  if (size < static_cast<ssize_t>(NLMSG_SPACE(sizeof(rtmsg)))) return "";
  nlmsghdr head{};
  std::memcpy(&head, answer.data(), sizeof(head));
  if (head.nlmsg_type != RTM_NEWROUTE) return "";
  std::size_t at = NLMSG_SPACE(sizeof(rtmsg));
  while (at + sizeof(rtattr) <= AsSize(size)) {
    rtattr attribute{};
    std::memcpy(&attribute, answer.data() + at, sizeof(attribute));
    if (attribute.rta_len < sizeof(rtattr)) break;
    if (attribute.rta_type == RTA_OIF) {
      unsigned index = 0;
      std::memcpy(&index, answer.data() + at + sizeof(rtattr), sizeof(index));
      char name[IF_NAMESIZE] = {};
      return if_indextoname(index, name) != nullptr ? name : "";
    }
    at += RTA_ALIGN(attribute.rta_len);
  }
  return "";
}

// Shared as python-can shares it; who binds it without SO_REUSEADDR has it alone.
bool IsPortTaken(std::uint16_t port) {
  const Socket socket(::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0));
  sockaddr_in any{};
  any.sin_family = AF_INET;
  any.sin_port = htons(port);
  SetOption(socket, SOL_SOCKET, SO_REUSEADDR, 1);
  return bind(socket.get(), reinterpret_cast<const sockaddr*>(&any), sizeof(any)) != 0 &&
         errno == EADDRINUSE;
}

}  // namespace

bool HasCapability(int capability) {
  std::ifstream status("/proc/self/status");
  for (std::string word; status >> word;) {
    std::uint64_t bits = 0;
    if (word == "CapEff:" && status >> std::hex >> bits) return ((bits >> capability) & 1) != 0;
  }
  return false;
}

bus::HostFacts ReadHost() {
  bus::HostFacts facts;
  facts.has_can = Socket(::socket(PF_CAN, SOCK_RAW | SOCK_CLOEXEC, CAN_RAW)).is_open();
  facts.can_interfaces = CanInterfaces();
  facts.may_raise_buffers = HasCapability(CAP_NET_ADMIN);
  facts.receive_buffer_max_bytes = NumberIn("/proc/sys/net/core/rmem_max");
  facts.realtime_priority_max = HasCapability(CAP_SYS_NICE)
                                    ? 99
                                    : static_cast<int>(std::min<rlim_t>(Limit(RLIMIT_RTPRIO), 99));
  const rlim_t memory = Limit(RLIMIT_MEMLOCK);
  facts.locked_memory_max_bytes = HasCapability(CAP_IPC_LOCK) || memory == RLIM_INFINITY
                                      ? -1
                                      : static_cast<std::int64_t>(memory);
  return facts;
}

bus::MulticastFacts ReadMulticast(const std::string& group, std::uint16_t port) {
  bus::MulticastFacts facts;
  facts.group = group;
  facts.port = port;
  in_addr address{};
  if (inet_pton(AF_INET, group.c_str(), &address) == 1) facts.route_interface = RouteTo(address);
  facts.port_taken = IsPortTaken(port);
  return facts;
}

}  // namespace drycrank::io
