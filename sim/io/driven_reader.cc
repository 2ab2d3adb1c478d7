// SPDX-License-Identifier: Apache-2.0
#include "io/driven_reader.h"

#include <linux/can.h>
#include <linux/can/gw.h>
#include <linux/netlink.h>
#include <linux/rtnetlink.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstring>
#include <optional>
#include <span>

#include "io/link_reader.h"
#include "io/socket.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

using Bytes = std::span<const std::uint8_t>;

template <class T>
T At(Bytes bytes, std::size_t at) {
  T value{};
  if (bytes.size() >= at + sizeof(T)) std::memcpy(&value, bytes.data() + at, sizeof(T));
  return value;
}

bool Ask(const Socket& socket) {
  struct {
    nlmsghdr head;
    rtcanmsg route;
  } request{};
  request.head.nlmsg_len = sizeof(request);
  request.head.nlmsg_type = RTM_GETROUTE;
  request.head.nlmsg_flags = NLM_F_REQUEST | NLM_F_DUMP;
  request.route.can_family = AF_CAN;
  request.route.gwtype = CGW_TYPE_CAN_CAN;
  // Without the module the question would go on to the other families: strictly read it is refused.
  SetOption(socket, SOL_NETLINK, NETLINK_GET_STRICT_CHK, 1);
  return send(socket.get(), &request, sizeof(request), 0) == static_cast<ssize_t>(sizeof(request));
}

// One RTM_NEWROUTE. A route of another family is none.
std::optional<bus::GatewayJob> JobIn(Bytes message) {
  constexpr std::size_t kBeforeAttributes = NLMSG_SPACE(sizeof(rtcanmsg));
  const auto route = At<rtcanmsg>(message, NLMSG_HDRLEN);
  if (route.can_family != AF_CAN || route.gwtype != CGW_TYPE_CAN_CAN) return std::nullopt;
  bus::GatewayJob job;
  std::size_t at = kBeforeAttributes;
  while (at + sizeof(rtattr) <= message.size()) {
    const auto head = At<rtattr>(message, at);
    if (head.rta_len < sizeof(rtattr)) break;
    const int value = At<std::int32_t>(message, at + sizeof(rtattr));
    if (head.rta_type == CGW_SRC_IF) job.from = value;
    if (head.rta_type == CGW_DST_IF) job.to = value;
    at += RTA_ALIGN(head.rta_len);
  }
  return job;
}

// False: that was the last of it.
bool TakeAnswer(Bytes answer, std::vector<bus::GatewayJob>& jobs) {
  while (answer.size() >= sizeof(nlmsghdr)) {
    const auto head = At<nlmsghdr>(answer, 0);
    if (head.nlmsg_len < sizeof(nlmsghdr) || head.nlmsg_len > answer.size()) return false;
    if (head.nlmsg_type == NLMSG_DONE || head.nlmsg_type == NLMSG_ERROR) return false;
    const auto job =
        head.nlmsg_type == RTM_NEWROUTE ? JobIn(answer.first(head.nlmsg_len)) : std::nullopt;
    if (job) jobs.push_back(*job);
    answer = answer.subspan(std::min<std::size_t>(NLMSG_ALIGN(head.nlmsg_len), answer.size()));
  }
  return true;
}

}  // namespace

std::optional<std::vector<bus::GatewayJob>> ReadGatewayJobs() {
  const Socket socket(::socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE));
  if (!socket.is_open() || !Ask(socket)) return std::nullopt;
  std::vector<bus::GatewayJob> jobs;
  alignas(nlmsghdr) std::array<std::uint8_t, 32768> answer;
  for (;;) {
    const ssize_t size = recv(socket.get(), answer.data(), answer.size(), 0);
    if (size <= 0) return std::nullopt;
    if (!TakeAnswer(Bytes(answer).first(AsSize(size)), jobs)) return jobs;
  }
}

std::optional<std::vector<bus::Driven>> ReadDriven(int index) {
  const auto jobs = ReadGatewayJobs();
  if (!jobs || !ReadLink(index)) return std::nullopt;
  return bus::DrivenBy(index, *jobs, [](int one) { return ReadLink(one); });
}

}  // namespace drycrank::io
