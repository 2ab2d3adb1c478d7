// SPDX-License-Identifier: Apache-2.0
#include "profile/bench.h"

#include "profile/output_device.h"
#include "profile/power_node.h"
#include "profile/protection.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::profile {

Bench::Bench() = default;
Bench::Bench(const Bench&) = default;
Bench::Bench(Bench&&) noexcept = default;
Bench& Bench::operator=(const Bench&) = default;
Bench& Bench::operator=(Bench&&) noexcept = default;
Bench::~Bench() = default;

const std::vector<std::string>& SenderNames() {
  static const std::vector<std::string> kNames = {"simulator", "controller", "display"};
  return kNames;
}

const char* Name(Sender sender) { return Nth(SenderNames(), sender).c_str(); }

MessageRef FindMessage(const Bench& bench, std::string_view message) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const int found = IndexOf(bench.buses[b].messages, message);
    if (found >= 0) return {static_cast<int>(b), found};
  }
  return {};
}

const Message& MessageAt(const Bench& bench, const MessageRef& ref) {
  return Nth(Nth(bench.buses, ref.bus).messages, ref.message);
}

SignalRef FindSignal(const Bench& bench, std::string_view message_dot_signal) {
  const auto dot = message_dot_signal.find('.');
  if (dot == std::string_view::npos) return {};
  const MessageRef at = FindMessage(bench, message_dot_signal.substr(0, dot));
  if (at.bus < 0) return {};
  const Message& message = MessageAt(bench, at);
  return {at.bus, at.message, IndexOf(message.signals, message_dot_signal.substr(dot + 1))};
}

const Signal& SignalAt(const Bench& bench, const SignalRef& ref) {
  return Nth(MessageAt(bench, {ref.bus, ref.message}).signals, ref.signal);
}

}  // namespace drycrank::profile
