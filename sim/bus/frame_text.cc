// SPDX-License-Identifier: Apache-2.0
#include "bus/frame_text.h"

#include <array>
#include <cstdint>

namespace drycrank::bus {
namespace {

constexpr std::uint32_t kErrorBit = 0x20000000;

char HexDigit(unsigned value) { return "0123456789ABCDEF"[value & 15u]; }

// Of each character its value as a hexadecimal digit; 255: it is none.
constexpr std::array<std::uint8_t, 256> kDigits = [] {
  std::array<std::uint8_t, 256> values{};
  values.fill(255);
  for (unsigned i = 0; i < 10; ++i) values['0' + i] = static_cast<std::uint8_t>(i);
  for (unsigned i = 0; i < 6; ++i) {
    values['A' + i] = values['a' + i] = static_cast<std::uint8_t>(10 + i);
  }
  return values;
}();

// REQUIRES: not more digits than the number holds.
template <class Number>
bool ParseHex(std::string_view text, Number& value) {
  unsigned read = 0, wrong = text.empty() ? 16 : 0;
  for (const char c : text) {
    const unsigned digit = kDigits[static_cast<unsigned char>(c)];
    wrong |= digit;
    read = read << 4 | (digit & 15u);
  }
  value = static_cast<Number>(read);
  return wrong < 16;
}

// "..._E": the raw length code 9 to 15 of a classical frame of 8 bytes, which newer tools add.
std::string_view WithoutLengthCode(std::string_view text) {
  const auto bar = text.find('_');
  const bool is_code = bar == 16 && text.size() == 18 && text[17] >= '9' && text[17] <= 'F';
  return is_code ? text.substr(0, bar) : text;
}

bool ParseData(std::string_view text, Frame& frame) {
  if (!frame.fd) text = WithoutLengthCode(text);
  const std::size_t most = frame.fd ? 64 : 8;
  while (!text.empty()) {
    if (text.front() == '.' && frame.length > 0) text.remove_prefix(1);
    if (text.size() < 2 || frame.length == most) return false;
    if (!ParseHex(text.substr(0, 2), frame.data[frame.length])) return false;
    ++frame.length;
    text.remove_prefix(2);
  }
  return true;
}

}  // namespace

void AppendFrameText(const Frame& frame, fmt::memory_buffer& out) {
  const std::uint32_t id = frame.error ? frame.id | kErrorBit : frame.id;
  const int digits = frame.extended || frame.error ? 8 : 3;
  for (int i = digits - 1; i >= 0; --i) out.push_back(HexDigit(id >> (4 * i)));
  out.push_back('#');
  if (frame.remote) {
    out.push_back('R');
    if (frame.length > 0) out.push_back(HexDigit(frame.length));
    return;
  }
  if (frame.fd) {
    out.push_back('#');
    out.push_back(HexDigit(4u | (frame.bit_rate_switch ? 1u : 0u) | (frame.error_state ? 2u : 0u)));
  }
  for (const std::uint8_t byte : frame.bytes()) {
    out.push_back(HexDigit(byte >> 4));
    out.push_back(HexDigit(byte));
  }
}

std::optional<Frame> ParseFrameText(std::string_view text) {
  Frame frame;
  const auto hash = text.find('#');
  if (hash != 3 && hash != 8) return std::nullopt;
  if (!ParseHex(text.substr(0, hash), frame.id)) return std::nullopt;
  frame.extended = hash == 8;
  if (frame.extended && frame.id >= 2 * kErrorBit) return std::nullopt;
  if (frame.extended && (frame.id & kErrorBit) != 0) {
    frame.error = true;
    frame.extended = false;
    frame.id &= ~kErrorBit;
  }
  std::string_view rest = text.substr(hash + 1);
  if (rest.starts_with('R')) {
    frame.remote = true;
    if (rest.size() > 2 || (rest.size() == 2 && !ParseHex(rest.substr(1), frame.length))) {
      return std::nullopt;
    }
  } else if (rest.starts_with('#')) {
    std::uint8_t flags = 0;
    if (rest.size() < 2 || !ParseHex(rest.substr(1, 1), flags)) return std::nullopt;
    frame.fd = true;
    frame.bit_rate_switch = (flags & 1) != 0;
    frame.error_state = (flags & 2) != 0;
    if (!ParseData(rest.substr(2), frame)) return std::nullopt;
  } else if (!ParseData(rest, frame)) {
    return std::nullopt;
  }
  if (frame.error || IsValid(frame)) return frame;
  return std::nullopt;
}

}  // namespace drycrank::bus
