// SPDX-License-Identifier: Apache-2.0
#include "profile/bench.h"

namespace drycrank::profile {

const std::vector<std::string>& SenderNames() {
  static const std::vector<std::string> kNames = {"simulator", "controller", "display"};
  return kNames;
}

const char* Name(Sender sender) {
  return SenderNames().at(static_cast<std::size_t>(sender)).c_str();
}

MessageRef FindMessage(const Bench& bench, std::string_view message) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const int found = IndexOf(bench.buses[b].messages, message);
    if (found >= 0) return {static_cast<int>(b), found};
  }
  return {};
}

SignalRef FindSignal(const Bench& bench, std::string_view message_dot_signal) {
  const auto dot = message_dot_signal.find('.');
  if (dot == std::string_view::npos) return {};
  const MessageRef at = FindMessage(bench, message_dot_signal.substr(0, dot));
  if (at.bus < 0) return {};
  const Message& message =
      bench.buses[static_cast<std::size_t>(at.bus)].messages[static_cast<std::size_t>(at.message)];
  return {at.bus, at.message, IndexOf(message.signals, message_dot_signal.substr(dot + 1))};
}

}  // namespace drycrank::profile
