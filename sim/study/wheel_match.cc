// SPDX-License-Identifier: Apache-2.0
#include "study/wheel_match.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "check/value_words.h"
#include "check/wheel_fit.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr double kAlikeDeg = 1;  // edges that are off by the same are off together
constexpr double kAtPlaceDeg = 0.05;
constexpr std::size_t kFewLeft = 10;  // one in so many is missing or too many

std::string LateWords(double deg) {
  return fmt::format("{} {}", check::NumberText(std::abs(deg), 1, "deg"),
                     deg < 0 ? "early" : "late");
}

// Most of its edges are there, off by the same.
bool IsMoved(const check::Fit& best, std::size_t due) {
  const auto left = AsSize(best.missing + best.extra);
  return !best.inverted && kFewLeft * left <= due && best.most_deg - best.least_deg <= kAlikeDeg;
}

std::string Words(const check::Fit& best, const report::CycleRow& row) {
  const auto missing = std::ranges::count_if(
      row.due, [](const report::CycleDue& due) { return !due.off_deg.has_value(); });
  if (std::ssize(row.due) == missing && row.extra_deg.empty()) return "no edge at all";
  if (best.whole() && best.inverted) return "every edge, with the levels inverted";
  if (missing > 0 || !row.extra_deg.empty()) {
    std::string words = fmt::format("of {} edges {} missing, {} too many", row.due.size(), missing,
                                    row.extra_deg.size());
    const double late_deg = best.late_deg();
    if (IsMoved(best, row.due.size()) && std::abs(late_deg) >= kAtPlaceDeg) {
      words += ", the others " + LateWords(late_deg);
    }
    return words;
  }
  double worst_deg = 0;
  for (const report::CycleDue& due : row.due) {
    if (std::abs(*due.off_deg) > std::abs(worst_deg)) worst_deg = *due.off_deg;
  }
  if (std::abs(worst_deg) < kAtPlaceDeg) return "every edge at its place";
  if (best.most_deg - best.least_deg <= kAlikeDeg) return "every edge " + LateWords(worst_deg);
  return "the worst edge " + LateWords(worst_deg);
}

// Which way a coil's wave goes behind its widest gap, before the first tooth's centre. Empty: nothing
// is due at centres, or nothing comes.
std::string GapWords(const report::CycleRow& row, double window_deg) {
  if (!row.coil || row.due.size() < 2 || !row.due.front().begin) return {};
  std::size_t behind = 1;
  double widest_deg = 0;
  for (std::size_t i = 1; i < row.due.size(); ++i) {
    const double gap_deg = row.due[i].deg - row.due[i - 1].deg;
    if (gap_deg > widest_deg + kAlikeDeg) behind = i;
    widest_deg = std::max(widest_deg, gap_deg);
  }
  if (widest_deg < 3 * window_deg) return {};
  double sum = 0;
  const double centre_deg = row.due[behind].deg;
  for (const auto& [deg, volts] : row.volts) {
    if (deg > centre_deg - window_deg && deg < centre_deg - window_deg / 4) sum += volts;
  }
  if (sum == 0) return {};
  const bool up = sum > 0, due_up = !row.due.front().high;
  return fmt::format("; out of the gap {} first{}", up ? "up" : "down",
                     up == due_up ? "" : fmt::format(", should be {}", due_up ? "up" : "down"));
}

}  // namespace

void MatchWheel(const std::vector<check::BuiltEdge>& due,
                const std::vector<std::pair<double, bool>>& seen, double cycle_deg,
                double period_deg, report::CycleRow& row) {
  std::vector<check::SeenEdge> edges;
  for (const auto& [deg, high] : seen) edges.push_back({deg, high});
  const check::WheelFit fit(due, cycle_deg, period_deg);
  const check::Fit best = fit.Best(edges, true);
  // A wheel that comes almost whole is moved as a whole; else each edge is looked for at its place.
  const double shift_deg = IsMoved(best, due.size()) ? best.late_deg() : 0;
  const double window_deg = fit.window_deg();
  std::vector<bool> taken(seen.size(), false);
  for (const check::BuiltEdge& edge : due) {
    report::CycleDue& out = row.due.emplace_back();
    out = {edge.deg, edge.high, edge.tooth, edge.begin, std::nullopt};
    int nearest = -1;
    double least_deg = window_deg;
    for (std::size_t i = 0; i < seen.size(); ++i) {
      const double away_deg =
          std::abs(WrapSignedDeg(seen[i].first - edge.deg - shift_deg, cycle_deg));
      if (taken[i] || seen[i].second != edge.high || away_deg >= least_deg) continue;
      nearest = static_cast<int>(i);
      least_deg = away_deg;
    }
    if (nearest < 0) continue;
    Nth(taken, nearest) = true;
    out.off_deg = WrapSignedDeg(Nth(seen, nearest).first - edge.deg, cycle_deg);
  }
  for (std::size_t i = 0; i < seen.size(); ++i) {
    if (!taken[i]) row.extra_deg.push_back(seen[i].first);
  }
  row.words = Words(best, row) + GapWords(row, window_deg);
}

}  // namespace drycrank::study
