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

unsigned Digit(char c) { return kDigits[static_cast<unsigned char>(c)]; }

// REQUIRES: not more digits than the number holds.
template <class Number>
bool ParseHex(std::string_view text, Number& value) {
  unsigned read = 0, wrong = text.empty() ? 16 : 0;
  for (const char c : text) {
    const unsigned digit = Digit(c);
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
  std::size_t length = 0;
  unsigned wrong = 0;
  for (std::size_t at = 0; at < text.size(); at += 2) {
    if (text[at] == '.' && length > 0) ++at;
    if (text.size() - at < 2 || length == most) return false;
    const unsigned high = Digit(text[at]), low = Digit(text[at + 1]);
    wrong |= high | low;
    frame.data[length++] = static_cast<std::uint8_t>(high << 4 | (low & 15u));
  }
  frame.length = static_cast<std::uint8_t>(length);
  return wrong < 16;
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

bool ReadFrameText(std::string_view text, Frame& frame) {
  frame = Frame();
  const auto hash = text.find('#');
  if (hash != 3 && hash != 8) return false;
  if (!ParseHex(text.substr(0, hash), frame.id)) return false;
  frame.extended = hash == 8;
  if (frame.extended && frame.id >= 2 * kErrorBit) return false;
  if (frame.extended && (frame.id & kErrorBit) != 0) {
    frame.error = true;
    frame.extended = false;
    frame.id &= ~kErrorBit;
  }
  std::string_view rest = text.substr(hash + 1);
  if (rest.starts_with('R')) {
    frame.remote = true;
    if (rest.size() > 2) return false;
    if (rest.size() == 2 && !ParseHex(rest.substr(1), frame.length)) return false;
  } else if (rest.starts_with('#')) {
    std::uint8_t flags = 0;
    if (rest.size() < 2 || !ParseHex(rest.substr(1, 1), flags)) return false;
    frame.fd = true;
    frame.bit_rate_switch = (flags & 1) != 0;
    frame.error_state = (flags & 2) != 0;
    if (!ParseData(rest.substr(2), frame)) return false;
  } else if (!ParseData(rest, frame)) {
    return false;
  }
  return frame.error || IsValid(frame);
}

std::optional<Frame> ParseFrameText(std::string_view text) {
  Frame frame;
  return ReadFrameText(text, frame) ? std::optional(frame) : std::nullopt;
}

}  // namespace drycrank::bus
