// SPDX-License-Identifier: Apache-2.0
#include "yaml/problems.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <tuple>
#include <utility>

namespace drycrank::yaml {

void Problems::Add(Diagnostic diagnostic, Rank rank) {
  if (list_.size() >= kMaxProblems) return;
  for (const Problem& known : list_) {
    // A part that is included twice has its problems once.
    if (known.diagnostic.place == diagnostic.place && known.diagnostic.what == diagnostic.what) {
      return;
    }
  }
  list_.push_back({std::move(diagnostic), rank});
}

void Problems::Add(Place place, std::string what, std::string remedy) {
  Add({std::move(place), std::move(what), std::move(remedy)}, Rank::kOwn);
}

void Problems::AddReference(Place place, std::string what, std::string remedy) {
  if (quiet_references_) return;
  Add({std::move(place), std::move(what), std::move(remedy)}, Rank::kReference);
}

void Problems::AddCause(Place place, const std::string& what, const std::string& remedy,
                        std::size_t first, const std::string& missing) {
  const auto follows = [&](const Problem& p) {
    return p.rank == Rank::kReference || p.diagnostic.what == missing;
  };
  const auto begin = list_.begin() + static_cast<std::ptrdiff_t>(std::min(first, list_.size()));
  const auto end = std::remove_if(begin, list_.end(), follows);
  const auto left_out = list_.end() - end;
  list_.erase(end, list_.end());
  const std::string more =
      left_out == 0 ? ""
      : left_out == 1
          ? " (1 more problem that may follow from this is left out)"
          : fmt::format(" ({} more problems that may follow from this are left out)", left_out);
  Add({std::move(place), what, remedy + more}, Rank::kCause);
}

Diagnostics Problems::Sorted(const std::vector<std::string>& files) const {
  const auto rank = [&](const Problem& p) {
    const Place& place = p.diagnostic.place;
    const auto at = std::find(files.begin(), files.end(), place.file);
    return std::tuple(p.rank != Rank::kCause, at - files.begin(), place.line, place.column);
  };
  std::vector<Problem> in_order = list_;
  std::stable_sort(in_order.begin(), in_order.end(),
                   [&](const Problem& a, const Problem& b) { return rank(a) < rank(b); });
  Diagnostics sorted;
  for (Problem& problem : in_order) sorted.push_back(std::move(problem.diagnostic));
  if (list_.size() >= kMaxProblems) {
    sorted.push_back({{files.empty() ? "" : files.front(), 0, 0},
                      "more than " + std::to_string(kMaxProblems - 1) + " problems",
                      "correct these first"});
  }
  return sorted;
}

}  // namespace drycrank::yaml
