// SPDX-License-Identifier: Apache-2.0
#include "io/interface.h"

#include <arpa/inet.h>
#include <fmt/format.h>

#include <charconv>
#include <optional>
#include <system_error>
#include <utility>

#include "io/multicast_bus.h"
#include "io/socketcan_bus.h"

namespace drycrank::io {
namespace {

constexpr std::string_view kKinds = "inproc, multicast[:GROUP][:PORT], socketcan:NAME";

bool IsMulticastGroup(const std::string& text) {
  in_addr address{};
  return inet_pton(AF_INET, text.c_str(), &address) == 1 && IN_MULTICAST(ntohl(address.s_addr));
}

std::optional<std::uint16_t> ParsePort(std::string_view text) {
  std::uint16_t port = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), port);
  if (error != std::errc() || end != text.data() + text.size() || port == 0) return std::nullopt;
  return port;
}

// `rest` follows "multicast:".
BusAddress ParseMulticast(std::string_view rest, MulticastAddress address) {
  const std::size_t colon = rest.find(':');
  const bool only_port =
      colon == std::string_view::npos && rest.find('.') == std::string_view::npos;
  const std::string_view group = only_port ? std::string_view() : rest.substr(0, colon);
  if (!group.empty()) address.group = group;
  if (!IsMulticastGroup(address.group)) {
    return address.group +
           " is not a multicast group; give one of 224.0.0.0 to 239.255.255.255, as " +
           kDefaultGroup;
  }
  if (only_port || colon != std::string_view::npos) {
    const std::string_view text = only_port ? rest : rest.substr(colon + 1);
    const std::optional<std::uint16_t> port = ParsePort(text);
    if (!port) return fmt::format("\"{}\" is not a UDP port; give 1 to 65535, as 43113", text);
    address.port = *port;
  }
  return address;
}

}  // namespace

BusAddress ParseBusAddress(std::string_view text, int bus) {
  const std::size_t colon = text.find(':');
  const std::string_view kind = text.substr(0, colon);
  const std::string_view rest = colon == std::string_view::npos ? "" : text.substr(colon + 1);
  if (text == "inproc") return InprocAddress{};
  if (kind == "multicast") {
    const MulticastAddress standard{kDefaultGroup, static_cast<std::uint16_t>(kDefaultPort + bus)};
    if (colon == std::string_view::npos) return standard;
    return ParseMulticast(rest, standard);
  }
  if (kind == "socketcan") {
    if (rest.empty()) return std::string("socketcan needs an interface; as socketcan:can0");
    return SocketCanAddress{std::string(rest)};
  }
  return fmt::format("\"{}\" is not a bus interface; give one of {}", text, kKinds);
}

OpenedBus OpenBus(std::string_view text, Clock& clock, int bus,
                  std::shared_ptr<bus::InprocHub> hub) {
  const BusAddress address = ParseBusAddress(text, bus);
  OpenedBus opened;
  try {
    if (const auto* wrong = std::get_if<std::string>(&address)) {
      opened.error = *wrong;
    } else if (const auto* multicast = std::get_if<MulticastAddress>(&address)) {
      opened.bus = std::make_unique<MulticastBus>(clock, bus, multicast->group, multicast->port);
    } else if (const auto* can = std::get_if<SocketCanAddress>(&address)) {
      opened.bus = std::make_unique<SocketCanBus>(clock, bus, can->interface);
    } else if (hub == nullptr) {
      opened.error = "inproc: nobody else is on this bus here; give another interface";
    } else {
      opened.bus = std::make_unique<bus::InprocBus>(std::move(hub));
    }
  } catch (const std::system_error& failed) {
    opened.error = failed.what();
  }
  return opened;
}

}  // namespace drycrank::io
