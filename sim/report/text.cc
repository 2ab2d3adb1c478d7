// SPDX-License-Identifier: Apache-2.0
#include "report/text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "types/code_point.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::report {
namespace {

struct Span {
  char32_t first, last;
};
constexpr Span kNarrow[] = {{0x300, 0x36F}, {0x200B, 0x200F}, {0x20D0, 0x20FF}, {0xFE00, 0xFE0F}};
constexpr Span kWide[] = {{0x1100, 0x115F}, {0x2E80, 0xA4CF},   {0xAC00, 0xD7A3},
                          {0xF900, 0xFAFF}, {0xFE30, 0xFE6F},   {0xFF00, 0xFF60},
                          {0xFFE0, 0xFFE6}, {0x1F300, 0x1FAFF}, {0x20000, 0x3FFFD}};

int WidthOf(char32_t c) {
  const auto within = [c](const Span& s) { return c >= s.first && c <= s.last; };
  if (std::any_of(std::begin(kNarrow), std::end(kNarrow), within)) return 0;
  return std::any_of(std::begin(kWide), std::end(kWide), within) ? 2 : 1;
}

constexpr std::string_view kNoBreak = "\u00A0";

bool IsDigit(char c) { return c >= '0' && c <= '9'; }

// Whether a unit may follow: "12", "-3.5", "±"; not "e1", "ECU.12".
bool AwaitsUnit(std::string_view word) {
  if (word == "±") return true;
  const std::size_t begin = word.find_first_not_of("-+(");
  if (begin == word.npos) return false;
  const std::string_view digits = word.substr(begin);
  return IsDigit(digits.front()) && IsDigit(digits.back());
}

std::vector<std::string> Words(std::string_view text) {
  std::vector<std::string> words;
  std::string word;
  for (std::size_t pos = 0; pos < text.size();) {
    const char32_t c = NextCodePoint(text, pos);
    if (!IsSpace(c)) {
      AppendCodePoint(IsControl(c) ? kReplacement : c, word);
    } else if (!word.empty()) {
      words.push_back(std::move(word));
      word.clear();
    }
  }
  if (!word.empty()) words.push_back(std::move(word));
  return words;
}

// Cuts as much from the front of `word` as fits into `width` columns.
std::string CutFront(std::string& word, int width) {
  std::size_t pos = 0;
  std::size_t fits = 0;
  int used = 0;
  while (pos < word.size()) {
    used += WidthOf(NextCodePoint(word, pos));
    if (used > width) break;
    fits = pos;
  }
  std::string front = word.substr(0, fits);
  word.erase(0, fits);
  return front;
}

}  // namespace

std::string PlainLine(std::string_view text) {
  std::string out;
  for (std::size_t pos = 0; pos < text.size();) {
    const char32_t c = NextCodePoint(text, pos);
    AppendCodePoint(IsSpace(c) ? U' ' : IsControl(c) ? kReplacement : c, out);
  }
  return out;
}

int Width(std::string_view text) {
  int width = 0;
  for (std::size_t pos = 0; pos < text.size();) width += WidthOf(NextCodePoint(text, pos));
  return width;
}

std::string PadRight(std::string text, int width) {
  const int missing = width - Width(text);
  if (missing > 0) text.append(AsSize(missing), ' ');
  return text;
}

std::string PadLeft(std::string text, int width) {
  const int missing = width - Width(text);
  if (missing > 0) text.insert(0, AsSize(missing), ' ');
  return text;
}

std::string KeepUnits(std::string_view text) {
  std::string out;
  for (std::size_t pos = 0; pos < text.size();) {
    const std::size_t end = std::min(text.find(' ', pos), text.size());
    const std::size_t next_end = std::min(text.find(' ', end + 1), text.size());
    const std::string_view word = text.substr(pos, end - pos);
    out += word;
    if (end == text.size()) break;
    const bool is_short = next_end > end + 1 && next_end - end <= 8;
    out += is_short && AwaitsUnit(word) ? kNoBreak : std::string_view(" ");
    pos = end + 1;
  }
  return out;
}

std::vector<std::string> Wrap(std::string_view text, int width) {
  std::vector<std::string> lines(1);
  for (std::string& word : Words(KeepUnits(text))) {
    const int room = width - Width(lines.back()) - 1;
    if (!lines.back().empty() && Width(word) <= room) {
      lines.back() += ' ' + word;
      continue;
    }
    if (!lines.back().empty()) lines.emplace_back();
    while (Width(word) > width) {
      lines.back() = CutFront(word, width);
      lines.emplace_back();
    }
    lines.back() = word;
  }
  for (std::string& line : lines) {
    for (auto at = line.find(kNoBreak); at != line.npos; at = line.find(kNoBreak)) {
      line.replace(at, kNoBreak.size(), " ");
    }
  }
  return lines;
}

std::string LabelOf(std::string_view key) {
  std::string label;
  std::string_view last;
  while (!key.empty()) {
    const std::string_view word = key.substr(0, key.find('_'));
    key.remove_prefix(std::min(word.size() + 1, key.size()));
    if (word.empty() || word == last) continue;
    label += label.empty() ? "" : " ";
    label += word;
    last = word;
  }
  if (!label.empty() && label[0] >= 'a' && label[0] <= 'z') {
    label[0] = static_cast<char>(label[0] - 'a' + 'A');
  }
  return label;
}

std::string Join(const std::vector<std::string>& parts, std::string_view between) {
  return fmt::format("{}", fmt::join(parts, between));
}

std::string Number(double value, int decimals) {
  if (!std::isfinite(value)) return std::string(kNoNumber);
  std::string text = fmt::format("{:.{}f}", value, decimals);
  const bool zero = text.find_first_not_of("-0.") == std::string::npos;
  if (zero && text.front() == '-') text.erase(0, 1);
  return text;
}

int DecimalsFor(double scale) {
  const double size = std::fabs(scale);
  if (!std::isfinite(size) || size == 0) return 1;
  return std::clamp(1 - static_cast<int>(std::floor(std::log10(size))), 0, 6);
}

std::string Quantity(double value, std::string_view unit, int decimals) {
  return WithUnit(Number(value, decimals), unit);
}

std::string SignedQuantity(double value, std::string_view unit, int decimals) {
  if (!std::isfinite(value)) return std::string(kNoNumber);
  const auto looks_zero = [&] {
    return Number(value, decimals).find_first_not_of("0.") == std::string::npos;
  };
  while (value != 0 && decimals < 6 && looks_zero()) ++decimals;
  std::string number = Number(value, decimals);
  if (value > 0) number.insert(0, 1, '+');
  return WithUnit(std::move(number), unit);
}

std::string Given(double value, std::string_view unit) {
  if (!std::isfinite(value)) return std::string(kNoNumber);
  return WithUnit(fmt::format("{:.6g}", value + 0.0), unit);
}

std::string Seconds(TimeNs t_ns) { return Number(ToSeconds(t_ns), 3) + " s"; }

std::string Counted(std::size_t count, std::string_view singular) {
  return fmt::format("{} {}{}", count, singular, count == 1 ? "" : "s");
}

std::string Believed(double share) {
  if (share < 0.01) return "<1 %";
  return fmt::format("{:.0f} %", 100 * std::min(share, kMostBelieved));
}

}  // namespace drycrank::report
