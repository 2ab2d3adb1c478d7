// SPDX-License-Identifier: Apache-2.0
#include "io/link_kind.h"

#include <linux/if_link.h>
#include <linux/netlink.h>
#include <linux/rtnetlink.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <span>

#include "io/socket.h"

namespace drycrank::io {
namespace {

using Bytes = std::span<const std::uint8_t>;

// The payload of the first attribute of that type, empty if there is none.
Bytes FindAttribute(Bytes attributes, int type) {
  while (attributes.size() >= sizeof(rtattr)) {
    rtattr head{};
    std::memcpy(&head, attributes.data(), sizeof(head));
    if (head.rta_len < sizeof(rtattr) || head.rta_len > attributes.size()) return {};
    if (head.rta_type == type)
      return attributes.subspan(sizeof(rtattr), head.rta_len - sizeof(rtattr));
    const std::size_t step = (head.rta_len + 3u) & ~std::size_t{3};
    if (step >= attributes.size()) return {};
    attributes = attributes.subspan(step);
  }
  return {};
}

bool Ask(const Socket& socket, int interface_index) {
  struct {
    nlmsghdr head;
    ifinfomsg link;
  } request{};
  request.head.nlmsg_len = sizeof(request);
  request.head.nlmsg_type = RTM_GETLINK;
  request.head.nlmsg_flags = NLM_F_REQUEST;
  request.link.ifi_family = AF_UNSPEC;
  request.link.ifi_index = interface_index;
  return send(socket.get(), &request, sizeof(request), 0) == static_cast<ssize_t>(sizeof(request));
}

}  // namespace

std::string LinkKind(int interface_index) {
  const Socket socket(::socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE));
  if (!socket.is_open() || !Ask(socket, interface_index)) return {};
  alignas(nlmsghdr) std::array<std::uint8_t, 16384> answer;
  const ssize_t size = recv(socket.get(), answer.data(), answer.size(), 0);
  nlmsghdr head{};
  constexpr std::size_t kBeforeAttributes = NLMSG_HDRLEN + NLMSG_ALIGN(sizeof(ifinfomsg));
  if (size < static_cast<ssize_t>(kBeforeAttributes)) return {};
  std::memcpy(&head, answer.data(), sizeof(head));
  if (head.nlmsg_type != RTM_NEWLINK) return {};
  const Bytes attributes =
      Bytes(answer).first(static_cast<std::size_t>(size)).subspan(kBeforeAttributes);
  const Bytes kind = FindAttribute(FindAttribute(attributes, IFLA_LINKINFO), IFLA_INFO_KIND);
  const auto end = std::find(kind.begin(), kind.end(), 0);  // the kernel counts the closing NUL in
  return {kind.begin(), end};
}

}  // namespace drycrank::io
