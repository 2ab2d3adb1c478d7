// SPDX-License-Identifier: Apache-2.0
#include "profile/driven_twice.h"

#include <fmt/format.h>

#include <filesystem>
#include <map>
#include <string_view>

namespace drycrank::profile {
namespace {

// Each in words; the same words are the same piece. What is missing in the file is none.
struct Piece {
  std::string words;
  Place place;
};
using Pieces = std::vector<Piece>;

// ALSA's "plughw:1" is "hw:1", with its numbers converted.
std::string_view CardOf(std::string_view device) {
  constexpr std::string_view kPlug = "plug";
  return device.starts_with("plughw:") ? device.substr(kPlug.size()) : device;
}

// "/sys/bus/iio/devices/iio:device0" is the same as "iio:device0", with or without a / behind it.
std::string DeviceOf(std::string_view device) {
  constexpr std::string_view kFolder = "/sys/bus/iio/devices/";
  std::string name = std::filesystem::path(device).lexically_normal().string();
  if (name.size() > 1 && name.ends_with('/')) name.pop_back();
  return name.starts_with(kFolder) ? name.substr(kFolder.size()) : name;
}

// A port may be written with zeros before it.
std::string BusOf(std::string_view bus) {
  const auto colon = bus.rfind(':');
  if (!bus.starts_with("multicast:") || colon == std::string_view::npos) return std::string(bus);
  const auto digit = bus.find_first_not_of('0', colon + 1);
  if (digit == std::string_view::npos) return std::string(bus);
  return std::string(bus.substr(0, colon + 1)) + std::string(bus.substr(digit));
}

void AddOf(const out::Core& core, const Place& place, Pieces& pieces) {
  if (!core.line.empty()) pieces.push_back({fmt::format("line {}", core.line), place});
}
void AddOf(const out::Sound& sound, const Place& place, Pieces& pieces) {
  if (!sound.device.empty()) pieces.push_back({fmt::format("card '{}'", CardOf(sound.device)), place});
}
void AddOf(const out::Gpio& gpio, const Place& place, Pieces& pieces) {
  if (gpio.chip.empty()) return;
  if (gpio.stop_line) {
    pieces.push_back({fmt::format("line {} of {}", *gpio.stop_line, gpio.chip), place});
  }
  for (const out::Gpio::Channel& channel : gpio.channels) {
    if (channel.line < 0) continue;
    pieces.push_back({fmt::format("line {} of {}", channel.line, gpio.chip), channel.place});
  }
}
template <class Kind>
  requires std::is_same_v<Kind, out::Dac> || std::is_same_v<Kind, out::Potentiometer>
void AddOf(const Kind& kind, const Place&, Pieces& pieces) {
  for (const auto& channel : kind.channels) {
    if (channel.device.empty() || channel.channel.empty()) continue;
    pieces.push_back({fmt::format("{} of {}", channel.channel, DeviceOf(channel.device)), channel.place});
  }
}
void AddOf(const out::PowerSupply& supply, const Place& place, Pieces& pieces) {
  if (!supply.host.empty()) pieces.push_back({fmt::format("the supply at {}:{}", supply.host, supply.port), place});
}
void AddOf(const out::CanNode& node, const Place& place, Pieces& pieces) {
  if (node.bus.empty()) return;
  // This computer's own number is one of the bus, too.
  for (const int number : {node.node, node.own_node}) {
    pieces.push_back({fmt::format("node {} on {}", number, BusOf(node.bus)), place});
  }
}

std::string InWords(const Place& place) {
  return fmt::format("{}:{}:{}", place.file, place.line, place.column);
}

}  // namespace

Diagnostics DrivenTwice(const std::vector<OutputDevice>& outputs) {
  struct Owner {
    const OutputDevice* output;
    Place place;
  };
  std::map<std::string, Owner> owners;
  Diagnostics problems;
  for (const OutputDevice& output : outputs) {
    Pieces pieces;
    std::visit([&](const auto& kind) { AddOf(kind, output.place, pieces); }, output.kind);
    for (const Piece& piece : pieces) {
      const auto [at, is_new] = owners.try_emplace(piece.words, Owner{&output, piece.place});
      if (is_new || at->second.output == &output) continue;  // within one output its own check has said it
      problems.push_back({piece.place,
                          fmt::format("{} is that of output '{}' ({})", piece.words,
                                      at->second.output->name, InWords(at->second.place)),
                          "give each output one of its own, or drive both by one output"});
    }
  }
  return problems;
}

}  // namespace drycrank::profile
