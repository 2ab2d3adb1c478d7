// SPDX-License-Identifier: Apache-2.0
#include "capture/holes.h"

#include <fmt/format.h>

#include <algorithm>

namespace drycrank::capture {
namespace {

constexpr std::size_t kSaidEach = 3;

std::string RowsInWords(double rows) {
  return rows == 1 ? "1 row is missing" : fmt::format("{:.0f} rows are missing", rows);
}

std::string InWords(const TraceHole& hole) {
  return fmt::format("what happened from {:.6f} s to {:.6f} s, {:.4g} ms: {} before line {}",
                     hole.from_ns * 1e-9, hole.to_ns * 1e-9, (hole.to_ns - hole.from_ns) * 1e-6,
                     RowsInWords(hole.rows), hole.line);
}

std::string Others(const ReadResult& capture) {
  double ms = 0;
  for (std::size_t i = kSaidEach; i < capture.holes.size(); ++i)
    ms += (capture.holes[i].to_ns - capture.holes[i].from_ns) * 1e-6;
  const bool all = capture.holes.size() == capture.hole_count;
  return fmt::format("what happened at {} places more where rows are missing, {}{:.4g} ms together",
                     capture.hole_count - kSaidEach, all ? "" : "more than ", ms);
}

}  // namespace

std::string RepeatsInWords(const TraceRepeats& repeats) {
  const std::string more =
      repeats.count == 1 ? "" : fmt::format(", the first of {} such rows", repeats.count);
  return fmt::format("at {:.6f} s: line {} has the time of the line before{}, and is left out",
                     repeats.t_ns * 1e-9, repeats.line, more);
}

std::vector<std::string> HolesInWords(const ReadResult& capture) {
  std::vector<std::string> said;
  for (std::size_t i = 0; i < std::min(kSaidEach, capture.holes.size()); ++i)
    said.push_back(InWords(capture.holes[i]));
  if (capture.hole_count > kSaidEach) said.push_back(Others(capture));
  if (capture.repeats.count > 0) said.push_back("what happened " + RepeatsInWords(capture.repeats));
  if (capture.uneven)
    said.push_back(
        "whether rows are missing: the times of its rows follow no clock, and an edge lies "
        "anywhere "
        "between two");
  return said;
}

std::optional<Diagnostic> HoleWithin(const std::string& path, const CaptureLevels& levels,
                                     double from_ns, double to_ns) {
  const auto hole = std::ranges::find_if(
      levels.holes, [&](const TraceHole& h) { return h.to_ns > from_ns && h.from_ns < to_ns; });
  if (hole == levels.holes.end()) return std::nullopt;
  return Diagnostic{
      {path, hole->line, 1},
      fmt::format("{} before this line, from {:.6f} s to {:.6f} s; what was there cannot "
                  "be played",
                  RowsInWords(hole->rows), (hole->from_ns - levels.from_ns) * 1e-9,
                  (hole->to_ns - levels.from_ns) * 1e-9),
      "play what lies before or behind it (from_s, to_s), or capture it again"};
}

}  // namespace drycrank::capture
