// SPDX-License-Identifier: Apache-2.0
#include "report/common_point.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/summary.h"
#include "report/text.h"

namespace drycrank::report {
namespace {

constexpr std::size_t kFewest = 3;

bool IsFeed(const profile::Controller& controller, const std::string& terminal) {
  return std::ranges::count(controller.sensor_grounds, terminal) > 0 ||
         std::ranges::count(controller.references, terminal, &profile::ReferenceOutput::terminal) >
             0;
}

}  // namespace

std::optional<CommonPoint> CommonPointOf(const Report& report) {
  const profile::Bench& bench = *report.bench;
  CommonPoint best;
  for (const check::CircuitCoverage& c : report.coverage) {
    if (!bench.controller || c.against.size() < kFewest || c.against.size() <= best.failures)
      continue;
    for (const profile::Wire* wire : WiresOf(bench, c.circuit)) {
      const bool from = std::ranges::count(bench.splices, wire->from) > 0;
      const std::string& splice = from ? wire->from : wire->to;
      const std::string& other = from ? wire->to : wire->from;
      const bool is_splice = std::ranges::count(bench.splices, splice) > 0;
      if (is_splice && IsFeed(*bench.controller, other)) {
        best = {splice, c.against.size(), {c.circuit}};
      }
    }
  }
  if (best.failures == 0) return std::nullopt;
  return best;
}

std::string CommonPointInWords(const Report& report, const CommonPoint& point) {
  const Counts n = Count(report);
  return fmt::format("{} of the {} failures come from one point: {}, behind {}. Look there first.",
                     point.failures, n.failed + n.not_observed, point.splice, Join(point.feeds));
}

}  // namespace drycrank::report
