// SPDX-License-Identifier: Apache-2.0
#include "study/strangers.h"

#include <algorithm>
#include <variant>

#include "check/overhear.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr int kFewest = 10;              // frames
constexpr TimeNs kAwayNs = 2 * kNsPerS;  // longer: it was away
constexpr double kFillsBusMs = 5;        // from one frame to the next of a node that babbles

}  // namespace

Strangers::Strangers(const profile::Bench& bench) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    for (const profile::Message& message : bench.buses[b].messages) {
      known_.emplace(static_cast<int>(b), message.id, message.extended);
    }
  }
  for (const check::Identifier& talk : check::TalkOf(bench)) {
    known_.emplace(talk.bus, talk.id, talk.extended);
  }
}

void Strangers::OnFrame(const bus::TimedFrame& frame) {
  const Key key{frame.bus, frame.frame.id, frame.frame.extended};
  if (frame.frame.error || known_.contains(key)) return;
  const auto [at, is_new] = strange_.try_emplace(key);
  Course& course = at->second;
  const TimeNs since_ns = frame.t_ns - course.last_ns;
  course.last_ns = frame.t_ns;
  course.length_bytes = static_cast<int>(frame.frame.bytes().size());
  if (is_new || since_ns > kAwayNs) return;
  course.sum_ns += since_ns;
  ++course.count;
}

std::vector<diagnose::Stranger> Strangers::Heard() const {
  std::vector<diagnose::Stranger> heard;
  for (const auto& [key, course] : strange_) {
    if (course.count < kFewest) continue;
    const auto& [bus, id, extended] = key;
    heard.push_back({bus, id, extended, course.length_bytes,
                     ToMs(course.sum_ns) / static_cast<double>(course.count)});
  }
  std::ranges::stable_sort(heard, {}, &diagnose::Stranger::period_ms);
  return heard;
}

std::vector<diagnose::Stranger> InvolvedStrangers(std::vector<diagnose::Stranger> heard,
                                                  const profile::Scenario& scenario,
                                                  std::span<const check::Verdict> verdicts) {
  bool any_failed = false, are_forbidden = false;
  for (const check::Verdict& verdict : verdicts) {
    if (verdict.outcome == check::Outcome::kMet) continue;
    any_failed = true;
    const auto& kind = Nth(scenario.expectations, verdict.expectation).kind;
    are_forbidden =
        are_forbidden || std::holds_alternative<profile::expect::OnlyKnownMessages>(kind);
  }
  if (!any_failed) return {};
  if (!are_forbidden) {
    std::erase_if(heard, [](const auto& s) { return s.period_ms > kFillsBusMs; });
  }
  return heard;
}

}  // namespace drycrank::study
