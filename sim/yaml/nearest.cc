// SPDX-License-Identifier: Apache-2.0
#include "yaml/nearest.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstddef>

#include "types/limits.h"

namespace drycrank::yaml {
namespace {

std::string SortedParts(std::string_view word) {
  std::vector<std::string_view> parts;
  for (std::size_t pos = 0; pos <= word.size();) {
    const std::size_t end = std::min(word.find('_', pos), word.size());
    parts.push_back(word.substr(pos, end - pos));
    pos = end + 1;
  }
  std::sort(parts.begin(), parts.end());
  return fmt::format("{}", fmt::join(parts, "_"));
}

}  // namespace

int EditDistance(std::string_view a, std::string_view b) {
  std::vector<int> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, change});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before = last;
    last = row;
  }
  return last[b.size()];
}

std::optional<std::string> Nearest(std::string_view word, const std::vector<std::string>& known) {
  if (word.size() > 2 * kMaxNameLength) return std::nullopt;
  const std::string sorted = SortedParts(word);
  const std::string* best = nullptr;
  const int length = static_cast<int>(std::min(word.size(), kMaxNameLength));
  int best_distance = length / 3 + 2;
  for (const std::string& candidate : known) {
    // Told apart more strictly in another order: "swapped_pins" is not "bytes_swapped".
    const int reordered = 1 + EditDistance(sorted, SortedParts(candidate));
    const int in_order = EditDistance(word, candidate);
    const int distance = reordered <= length / 4 + 1 ? std::min(in_order, reordered) : in_order;
    if (distance < best_distance) {
      best = &candidate;
      best_distance = distance;
    }
  }
  return best == nullptr ? std::nullopt : std::optional(*best);
}

std::string Suggest(std::string_view word, const std::vector<std::string>& known,
                    std::string_view when_none) {
  if (known.empty()) return std::string(when_none);
  if (const auto nearest = Nearest(word, known)) return "did you mean '" + *nearest + "'?";
  std::string text = "known: ";
  constexpr std::size_t kShown = 24;
  for (std::size_t i = 0; i < std::min(known.size(), kShown); ++i) {
    text += (i > 0 ? ", " : "") + known[i];
  }
  return known.size() > kShown ? text + ", ..." : text;
}

}  // namespace drycrank::yaml
