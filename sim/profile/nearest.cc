// SPDX-License-Identifier: Apache-2.0
#include "profile/nearest.h"

#include <algorithm>
#include <cstddef>

#include "profile/limits.h"

namespace drycrank::profile {

int EditDistance(std::string_view a, std::string_view b) {
  std::vector<int> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, change});
      const bool exchanged = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (exchanged) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before = last;
    last = row;
  }
  return last[b.size()];
}

std::string Suggest(std::string_view word, const std::vector<std::string>& known,
                    std::string_view when_none) {
  if (known.empty()) return std::string(when_none);
  const std::string* best = nullptr;
  int best_distance = static_cast<int>(std::min(word.size(), kMaxNameLength)) / 3 + 2;
  if (word.size() <= 2 * kMaxNameLength) {
    for (const std::string& candidate : known) {
      const int distance = EditDistance(word, candidate);
      if (distance < best_distance) {
        best = &candidate;
        best_distance = distance;
      }
    }
  }
  if (best != nullptr) return "did you mean '" + *best + "'?";
  std::string text = "known: ";
  constexpr std::size_t kShown = 24;
  for (std::size_t i = 0; i < std::min(known.size(), kShown); ++i) {
    text += (i > 0 ? ", " : "") + known[i];
  }
  return known.size() > kShown ? text + ", ..." : text;
}

}  // namespace drycrank::profile
