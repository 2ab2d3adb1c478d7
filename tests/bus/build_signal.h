// SPDX-License-Identifier: Apache-2.0
//
// Shorthand for signals and messages in tests of this folder.
#ifndef DRYCRANK_TESTS_BUS_BUILD_SIGNAL_H_
#define DRYCRANK_TESTS_BUS_BUILD_SIGNAL_H_

#include <cstdint>
#include <cstdlib>
#include <string>
#include <utility>
#include <vector>

#include "bus/frame.h"
#include "profile/bench.h"

namespace drycrank::bus {

inline profile::Signal Little(int start_bit, int length_bits) {
  profile::Signal signal;
  signal.start_bit = start_bit;
  signal.length_bits = length_bits;
  return signal;
}

inline profile::Signal Big(int start_bit, int length_bits) {
  profile::Signal signal = Little(start_bit, length_bits);
  signal.byte_order = profile::ByteOrder::kBig;
  return signal;
}

inline profile::Signal Scaled(profile::Signal signal, double scale, double offset) {
  signal.scale = scale;
  signal.offset = offset;
  return signal;
}

inline profile::Message MessageOf(std::vector<profile::Signal> signals) {
  profile::Message message;
  message.name = "message";
  message.id = 0x123;
  message.signals = std::move(signals);
  return message;
}

// "0CFF" -> {0x0C, 0xFF}
inline std::vector<std::uint8_t> Bytes(const std::string& hex) {
  std::vector<std::uint8_t> bytes;
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2) {
    bytes.push_back(static_cast<std::uint8_t>(std::stoul(hex.substr(i, 2), nullptr, 16)));
  }
  return bytes;
}

inline Frame FrameOf(std::uint32_t id, bool extended, const std::string& hex) {
  Frame frame;
  frame.id = id;
  frame.extended = extended;
  const std::vector<std::uint8_t> bytes = Bytes(hex);
  frame.length = static_cast<std::uint8_t>(bytes.size());
  for (std::size_t i = 0; i < bytes.size(); ++i) frame.data[i] = bytes[i];
  return frame;
}

inline std::vector<std::uint8_t> DataOf(const Frame& frame) {
  return {frame.bytes().begin(), frame.bytes().end()};
}

}  // namespace drycrank::bus

#endif  // DRYCRANK_TESTS_BUS_BUILD_SIGNAL_H_
