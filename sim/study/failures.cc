// SPDX-License-Identifier: Apache-2.0
#include "study/failures.h"

#include <algorithm>

#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::Outcome;
using check::TracePoint;
using check::Verdict;
using diagnose::Prediction;

std::optional<TracePoint> WorstOf(const Verdict& verdict) {
  for (const TracePoint& point : verdict.evidence.points) {
    if (point.t_ns == verdict.worst_ns) return point;
  }
  return std::nullopt;
}

TimeNs EndOfStep(const std::vector<Moment>& moments, std::size_t step) {
  TimeNs end_ns = 0;
  for (const Moment& moment : moments) {
    if (moment.step == step) end_ns = std::max(end_ns, moment.end_ns);
  }
  return end_ns;
}

// The longest time without a report in the moment's step.
struct Silence {
  TimeNs since_ns = 0, length_ns = 0;
};
Silence LongestIn(const Verdict& verdict, const Moment& moment) {
  Silence longest;
  TimeNs last_ns = moment.begin_ns;
  const auto until = [&](TimeNs t_ns) {
    if (t_ns - last_ns > longest.length_ns) longest = {last_ns, t_ns - last_ns};
    last_ns = t_ns;
  };
  for (const TracePoint& point : verdict.evidence.points) {
    if (point.t_ns >= moment.begin_ns && point.t_ns <= moment.end_ns) until(point.t_ns);
  }
  until(moment.end_ns);
  return longest;
}

class Finder {
 public:
  Finder(const std::vector<Moment>& moments, const Requirements& requirements)
      : moments_(moments), requirements_(requirements) {}

  std::optional<Failure> Failed(const Verdict& verdict) const {
    for (std::size_t m = 0; m < moments_.size(); ++m) {
      const Moment& moment = moments_[m];
      const bool here = requirements_.IsJudged(verdict.expectation, moment) &&
                        verdict.worst_ns >= moment.begin_ns &&
                        verdict.worst_ns <= EndOfStep(moments_, moment.step);
      if (here) return At(verdict, m);
    }
    return std::nullopt;
  }

  // Not observed: in the moment with the longest silence.
  std::optional<Failure> Unseen(const Verdict& verdict) const {
    std::optional<Failure> unseen;
    TimeNs longest_ns = -1;
    for (std::size_t m = 0; m < moments_.size(); ++m) {
      const Moment& moment = moments_[m];
      if (!requirements_.IsJudged(verdict.expectation, moment)) continue;
      const Silence silence = LongestIn(verdict, moment);
      if (silence.length_ns <= longest_ns) continue;
      longest_ns = silence.length_ns;
      const bool lasted = silence.since_ns + silence.length_ns >= moment.end_ns;
      unseen = Failure{verdict.expectation, m, std::nullopt, 0, lasted, silence.since_ns};
    }
    return unseen;
  }

 private:
  Failure At(const Verdict& verdict, std::size_t m) const {
    const auto worst = WorstOf(verdict), last = LastIn(verdict, moments_[m]);
    const bool lasted = !last || !IsAsItShould(verdict.expectation, moments_[m], last->reported);
    const auto& told = lasted && last ? last : worst;
    return {verdict.expectation,     m,      told ? std::optional(told->reported) : std::nullopt,
            told ? told->wanted : 0, lasted, FirstWrong(verdict, moments_[m])};
  }
  TimeNs FirstWrong(const Verdict& verdict, const Moment& moment) const {
    for (const TracePoint& point : verdict.evidence.points) {
      if (point.t_ns < moment.begin_ns || point.t_ns > moment.end_ns) continue;
      if (!IsAsItShould(verdict.expectation, moment, point.reported)) return point.t_ns;
    }
    return moment.begin_ns;
  }
  bool IsAsItShould(int expectation, const Moment& moment, double reported) const {
    return !requirements_.Violated(expectation, moment, Prediction::Value(reported)).has_value();
  }

  const std::vector<Moment>& moments_;
  const Requirements& requirements_;
};

}  // namespace

std::optional<TracePoint> LastIn(const Verdict& verdict, const Moment& moment) {
  std::optional<TracePoint> last;
  const TimeNs settled_ns = moment.begin_ns + (moment.end_ns - moment.begin_ns) / 2;
  for (const TracePoint& point : verdict.evidence.points) {
    if (point.t_ns > settled_ns && point.t_ns <= moment.end_ns) last = point;
  }
  return last;
}

bool IsSeenAfter(const Verdict& verdict, const Moment& moment, TimeNs since_ns) {
  if (verdict.evidence.points.empty()) return true;
  return std::ranges::any_of(verdict.evidence.points, [&](const TracePoint& point) {
    return point.t_ns > since_ns && point.t_ns <= moment.end_ns;
  });
}

std::vector<Failure> FailuresOf(const std::vector<Verdict>& verdicts,
                                const std::vector<Moment>& moments,
                                const Requirements& requirements) {
  const Finder finder(moments, requirements);
  std::vector<Failure> failures;
  for (const Verdict& verdict : verdicts) {
    std::optional<Failure> failure;
    if (verdict.outcome == Outcome::kFailed) failure = finder.Failed(verdict);
    if (verdict.outcome == Outcome::kNotObserved) failure = finder.Unseen(verdict);
    if (failure) failures.push_back(*failure);
  }
  return failures;
}

std::vector<std::size_t> FailedMoments(const std::vector<Failure>& failures, std::size_t most) {
  std::vector<std::size_t> failed;
  for (const Failure& failure : failures) {
    if (failed.size() >= most) break;
    if (std::ranges::count(failed, failure.moment) == 0) failed.push_back(failure.moment);
  }
  std::ranges::sort(failed);
  return failed;
}

}  // namespace drycrank::study
