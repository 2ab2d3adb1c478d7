// SPDX-License-Identifier: Apache-2.0
//
// decode_frames BUSES.yaml < lines: each line "MESSAGE HEX" gives one line "MESSAGE SIGNAL VALUE"
// per signal that our layouts find in that frame, then an empty line.
#include <fmt/format.h>

#include <charconv>
#include <iostream>
#include <string>

#include "bus/layout.h"
#include "profile/load.h"

namespace {

using drycrank::profile::Message;

const Message* Find(const std::vector<drycrank::profile::Bus>& buses, const std::string& name) {
  for (const auto& bus : buses) {
    for (const Message& message : bus.messages) {
      if (message.name == name) return &message;
    }
  }
  return nullptr;
}

drycrank::bus::Frame FrameOf(const Message& message, const std::string& hex) {
  drycrank::bus::Frame frame;
  frame.id = message.id;
  frame.extended = message.extended;
  frame.fd = message.fd;
  frame.length = static_cast<std::uint8_t>(hex.size() / 2);
  for (std::size_t i = 0; i < frame.length; ++i) {
    std::from_chars(hex.data() + 2 * i, hex.data() + 2 * i + 2, frame.data[i], 16);
  }
  return frame;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  const auto loaded = drycrank::profile::LoadBusesOf(argv[1]);
  for (const auto& problem : loaded.problems) std::cerr << drycrank::Format(problem) << "\n";
  if (!loaded.problems.empty()) return 2;
  std::string name, hex;
  while (std::cin >> name >> hex) {
    const Message* message = Find(loaded.buses, name);
    if (message == nullptr || hex.size() > 128) return 3;
    const auto frame = FrameOf(*message, hex);
    for (std::size_t i = 0; i < message->signals.size(); ++i) {
      const auto value = drycrank::bus::Decode(*message, static_cast<int>(i), frame);
      if (value) fmt::print("{} {} {:.17g}\n", name, message->signals[i].name, *value);
    }
    fmt::print("\n");
  }
  return 0;
}
