// SPDX-License-Identifier: Apache-2.0
#include "types/code_point.h"

namespace drycrank {

char32_t NextCodePoint(std::string_view text, std::size_t& pos) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(pos++);
  if (lead < 0x80) return lead;
  const std::size_t more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : 1;
  if (lead < 0xC2 || lead > 0xF4 || pos + more > text.size()) return kReplacement;
  char32_t code = lead & (0x3Fu >> more);
  for (std::size_t i = 0; i < more; ++i) {
    if ((byte(pos + i) & 0xC0) != 0x80) return kReplacement;
    code = (code << 6) | (byte(pos + i) & 0x3Fu);
  }
  constexpr char32_t kSmallest[] = {0, 0x80, 0x800, 0x10000};
  if (code < kSmallest[more] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) {
    return kReplacement;
  }
  pos += more;
  return code;
}

void AppendCodePoint(char32_t code, std::string& out) {
  const auto tail = [&](int shift) { out += static_cast<char>(0x80 | ((code >> shift) & 0x3F)); };
  if (code < 0x80) {
    out += static_cast<char>(code);
  } else if (code < 0x800) {
    out += static_cast<char>(0xC0 | (code >> 6));
    tail(0);
  } else if (code < 0x10000) {
    out += static_cast<char>(0xE0 | (code >> 12));
    tail(6);
    tail(0);
  } else {
    out += static_cast<char>(0xF0 | (code >> 18));
    tail(12);
    tail(6);
    tail(0);
  }
}

bool IsSpace(char32_t c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

bool IsControl(char32_t c) {
  const bool ends_a_line = c == 0x2028 || c == 0x2029;
  const bool turns_it_round = (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069);
  const bool is_unseen =
      c == 0x200B || (c >= 0x2060 && c <= 0x2064) || c == 0xFEFF || (c >= 0xE0000 && c <= 0xE007F);
  return (c < 0x20 && !IsSpace(c)) || (c >= 0x7F && c < 0xA0) || c == 0xFFFE || c == 0xFFFF ||
         ends_a_line || turns_it_round || is_unseen;
}

}  // namespace drycrank
