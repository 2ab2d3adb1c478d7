// SPDX-License-Identifier: Apache-2.0
#include "yaml/utf8.h"

#include <cstddef>
#include <cstdint>

namespace drycrank::yaml {
namespace {

// Length of the well-formed sequence at the begin of `text`, 0 if there is none. RFC 3629,
// clause 4.
std::size_t SequenceLength(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(text[i]); };
  const std::uint8_t lead = byte(0);
  if (lead < 0x80) return 1;
  const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || text.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0) != 0x80) return 0;
  }
  const bool overlong = (lead == 0xE0 && byte(1) < 0xA0) || (lead == 0xF0 && byte(1) < 0x90);
  const bool surrogate = lead == 0xED && byte(1) > 0x9F;
  const bool too_high = lead == 0xF4 && byte(1) > 0x8F;
  return overlong || surrogate || too_high ? 0 : length;
}

}  // namespace

std::optional<NotText> FindNotText(std::string_view text) {
  int line = 1;
  int column = 1;
  while (!text.empty()) {
    const std::size_t length = SequenceLength(text);
    if (length == 0) return NotText{line, column, "a byte that is not UTF-8"};
    const auto c = static_cast<unsigned char>(text[0]);
    if ((c < 0x20 && c != '\n' && c != '\r' && c != '\t') || c == 0x7F) {
      return NotText{line, column, "a control character"};
    }
    column = c == '\n' ? 1 : column + static_cast<int>(length);
    line += c == '\n' ? 1 : 0;
    text.remove_prefix(length);
  }
  return std::nullopt;
}

}  // namespace drycrank::yaml
