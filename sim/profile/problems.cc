// SPDX-License-Identifier: Apache-2.0
#include "profile/problems.h"

#include <algorithm>
#include <tuple>
#include <utility>

namespace drycrank::profile {

void Problems::Add(Place place, std::string what, std::string remedy) {
  if (list_.size() >= kMaxProblems) return;
  for (const Diagnostic& known : list_) {
    // A part that is included twice has its problems once.
    if (known.place == place && known.what == what) return;
  }
  list_.push_back({std::move(place), std::move(what), std::move(remedy)});
}

void Problems::AddReference(Place place, std::string what, std::string remedy) {
  if (!quiet_references_) Add(std::move(place), std::move(what), std::move(remedy));
}

Diagnostics Problems::Sorted(const std::vector<std::string>& files) const {
  const auto rank = [&](const Diagnostic& d) {
    const auto at = std::find(files.begin(), files.end(), d.place.file);
    return std::tuple(at - files.begin(), d.place.line, d.place.column);
  };
  Diagnostics sorted = list_;
  std::stable_sort(sorted.begin(), sorted.end(),
                   [&](const Diagnostic& a, const Diagnostic& b) { return rank(a) < rank(b); });
  if (list_.size() >= kMaxProblems) {
    sorted.push_back({{files.empty() ? "" : files.front(), 0, 0},
                      "more than " + std::to_string(kMaxProblems - 1) + " problems",
                      "correct these first"});
  }
  return sorted;
}

}  // namespace drycrank::profile
