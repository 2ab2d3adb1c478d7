// SPDX-License-Identifier: Apache-2.0
#include "io/link_reader.h"

#include <linux/can/netlink.h>
#include <linux/ethtool.h>
#include <linux/if_link.h>
#include <linux/net_tstamp.h>
#include <linux/netlink.h>
#include <linux/rtnetlink.h>
#include <linux/sockios.h>
#include <net/if.h>
#include <net/if_arp.h>
#include <sys/ioctl.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <span>

#include "io/socket.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

using Bytes = std::span<const std::uint8_t>;

// The payload of the first attribute of that type, empty if there is none.
Bytes Find(Bytes attributes, int type) {
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

// A structure of the kernel; older kernels give a shorter one, the rest stays zero.
template <class T>
std::optional<T> Get(Bytes attributes, int type) {
  const Bytes payload = Find(attributes, type);
  if (payload.empty()) return std::nullopt;
  T value{};
  std::memcpy(&value, payload.data(), std::min(sizeof(value), payload.size()));
  return value;
}

std::string GetText(Bytes attributes, int type) {
  const Bytes payload = Find(attributes, type);
  return {payload.begin(), std::find(payload.begin(), payload.end(), 0)};
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

bus::ControllerFacts ControllerFrom(Bytes data, Bytes statistics) {
  bus::ControllerFacts facts;
  facts.bitrate_bps =
      Get<can_bittiming>(data, IFLA_CAN_BITTIMING).value_or(can_bittiming{}).bitrate;
  facts.data_bitrate_bps =
      Get<can_bittiming>(data, IFLA_CAN_DATA_BITTIMING).value_or(can_bittiming{}).bitrate;
  const auto state = Get<std::uint32_t>(data, IFLA_CAN_STATE).value_or(CAN_STATE_STOPPED);
  facts.state = static_cast<bus::ControllerState>(std::min<std::uint32_t>(state, 5));
  facts.restart_ms = Get<std::uint32_t>(data, IFLA_CAN_RESTART_MS).value_or(0);
  const auto mode = Get<can_ctrlmode>(data, IFLA_CAN_CTRLMODE).value_or(can_ctrlmode{}).flags;
  facts.loopback = (mode & CAN_CTRLMODE_LOOPBACK) != 0;
  facts.listen_only = (mode & CAN_CTRLMODE_LISTENONLY) != 0;
  facts.one_shot = (mode & CAN_CTRLMODE_ONE_SHOT) != 0;
  facts.fd = (mode & CAN_CTRLMODE_FD) != 0;
  if (const auto counts = Get<can_berr_counter>(data, IFLA_CAN_BERR_COUNTER)) {
    facts.errors = bus::ErrorCounts{counts->txerr, counts->rxerr};
  }
  if (const auto ohm = Get<std::uint16_t>(data, IFLA_CAN_TERMINATION)) {
    facts.termination_ohm = *ohm;
  }
  const auto since =
      Get<can_device_stats>(statistics, IFLA_INFO_XSTATS).value_or(can_device_stats{});
  facts.bus_errors = since.bus_error;
  facts.bus_offs = since.bus_off;
  facts.arbitration_lost = since.arbitration_lost;
  facts.restarts = since.restarts;
  return facts;
}

bool HasHardwareStamps(const Socket& any_socket, const std::string& interface) {
  ethtool_ts_info info{};
  info.cmd = ETHTOOL_GET_TS_INFO;
  ifreq request{};
  std::memcpy(request.ifr_name, interface.data(),
              std::min<std::size_t>(interface.size(), IFNAMSIZ - 1));
  request.ifr_data = reinterpret_cast<char*>(&info);
  return ioctl(any_socket.get(), SIOCETHTOOL, &request) == 0 &&
         (info.so_timestamping & SOF_TIMESTAMPING_RX_HARDWARE) != 0;
}

void TakeAttributes(Bytes attributes, bus::LinkFacts& facts) {
  facts.name = GetText(attributes, IFLA_IFNAME);
  facts.mtu = static_cast<int>(Get<std::uint32_t>(attributes, IFLA_MTU).value_or(0));
  facts.send_queue_frames =
      static_cast<int>(Get<std::uint32_t>(attributes, IFLA_TXQLEN).value_or(0));
  facts.qdisc = GetText(attributes, IFLA_QDISC);
  const auto counts =
      Get<rtnl_link_stats64>(attributes, IFLA_STATS64).value_or(rtnl_link_stats64{});
  facts.received = counts.rx_packets;
  facts.sent = counts.tx_packets;
  facts.receive_dropped = counts.rx_dropped;
  facts.receive_overruns = counts.rx_over_errors;
  facts.send_dropped = counts.tx_dropped;
  const Bytes info = Find(attributes, IFLA_LINKINFO);
  facts.kind = GetText(info, IFLA_INFO_KIND);
  if (facts.kind == "vxcan") {
    facts.peer_index = static_cast<int>(Get<std::uint32_t>(attributes, IFLA_LINK).value_or(0));
    facts.peer_elsewhere = Get<std::int32_t>(attributes, IFLA_LINK_NETNSID).has_value();
  }
  if (facts.kind == "can") facts.controller = ControllerFrom(Find(info, IFLA_INFO_DATA), info);
}

}  // namespace

std::optional<bus::LinkFacts> ReadLink(const std::string& interface) {
  return ReadLink(static_cast<int>(if_nametoindex(interface.c_str())));
}

std::optional<bus::LinkFacts> ReadLink(int index) {
  const Socket socket(::socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE));
  if (index == 0 || !socket.is_open() || !Ask(socket, index)) return std::nullopt;
  alignas(nlmsghdr) std::array<std::uint8_t, 32768> answer;
  const ssize_t size = recv(socket.get(), answer.data(), answer.size(), 0);
  constexpr std::size_t kBeforeAttributes = NLMSG_HDRLEN + NLMSG_ALIGN(sizeof(ifinfomsg));
  if (size < static_cast<ssize_t>(kBeforeAttributes)) return std::nullopt;
  nlmsghdr head{};
  std::memcpy(&head, answer.data(), sizeof(head));
  if (head.nlmsg_type != RTM_NEWLINK) return std::nullopt;
  ifinfomsg link{};
  std::memcpy(&link, answer.data() + NLMSG_HDRLEN, sizeof(link));
  bus::LinkFacts facts;
  facts.index = index;
  facts.is_can = link.ifi_type == ARPHRD_CAN;
  facts.up = (link.ifi_flags & IFF_UP) != 0;
  facts.running = facts.up && (link.ifi_flags & IFF_RUNNING) != 0;
  TakeAttributes(Bytes(answer).first(AsSize(size)).subspan(kBeforeAttributes), facts);
  const Socket any(::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0));
  facts.hardware_stamps = any.is_open() && HasHardwareStamps(any, facts.name);
  return facts;
}

std::vector<std::string> CanInterfaces() {
  std::vector<std::string> names;
  struct if_nameindex* const all = if_nameindex();
  for (const auto* one = all; one != nullptr && one->if_index != 0; ++one) {
    const auto facts = ReadLink(one->if_name);
    if (facts && facts->is_can) names.emplace_back(one->if_name);
  }
  if (all != nullptr) if_freenameindex(all);
  return names;
}

}  // namespace drycrank::io
