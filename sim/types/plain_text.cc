// SPDX-License-Identifier: Apache-2.0
#include "types/plain_text.h"

#include "types/code_point.h"

namespace drycrank {

std::string OneLine(std::string_view text) {
  std::string line;
  line.reserve(text.size());
  for (std::size_t pos = 0; pos < text.size();) {
    const char32_t c = NextCodePoint(text, pos);
    AppendCodePoint(IsControl(c) ? kReplacement : IsSpace(c) ? ' ' : c, line);
  }
  return line;
}

bool HasControl(std::string_view text) {
  for (std::size_t pos = 0; pos < text.size();) {
    const std::size_t begin = pos;
    const char32_t c = NextCodePoint(text, pos);
    if (IsControl(c) || (c == kReplacement && pos == begin + 1)) return true;
  }
  return false;
}

std::string CsvQuoted(std::string_view text) {
  const std::string line = OneLine(text);
  if (line.find_first_of(",\"") == std::string::npos) return line;
  std::string quoted = "\"";
  for (const char c : line) quoted.append(c == '"' ? 2 : 1, c);
  return quoted + '"';
}

std::string CsvUnquoted(std::string_view field) {
  if (field.size() < 2 || field.front() != '"' || field.back() != '"') return std::string(field);
  std::string text;
  for (std::size_t i = 1; i + 1 < field.size(); ++i) {
    if (field[i] == '"' && (i + 2 >= field.size() || field[++i] != '"')) return std::string(field);
    text += field[i];
  }
  return text;
}

}  // namespace drycrank
