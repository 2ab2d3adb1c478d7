// SPDX-License-Identifier: Apache-2.0
#include "yaml/utf8.h"

#include <fmt/format.h>

#include "types/code_point.h"

namespace drycrank::yaml {

namespace {
constexpr char32_t kByteOrderMark = 0xFEFF;  // of a file, at its begin
}  // namespace

std::optional<NotText> FindNotText(std::string_view text) {
  int line = 1;
  int column = 1;
  for (std::size_t pos = 0; pos < text.size();) {
    const std::size_t begin = pos;
    const char32_t c = NextCodePoint(text, pos);
    if (c == kReplacement && pos == begin + 1) {
      return NotText{line, column, "a byte that is not UTF-8"};
    }
    if (IsControl(c) && !(c == kByteOrderMark && begin == 0)) {
      return NotText{line, column,
                     fmt::format("the control character U+{:04X}", static_cast<unsigned>(c))};
    }
    if (c == '\r' && (pos == text.size() || text[pos] != '\n')) {
      return NotText{line, column, "a line that ends with a carriage return alone",
                     "save the file with line feeds (LF or CR LF) at the ends of its lines"};
    }
    column = c == '\n' ? 1 : column + static_cast<int>(pos - begin);
    line += c == '\n' ? 1 : 0;
  }
  return std::nullopt;
}

}  // namespace drycrank::yaml
