// SPDX-License-Identifier: Apache-2.0
#include "study/failures.h"

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::Outcome;
using check::TracePoint;
using check::Verdict;
using diagnose::Prediction;

constexpr double kAssumedS = 0.5;
constexpr double kAnewS = 1;

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

// The longest time without a report in the moment's step, from begin_ns on.
struct Silence {
  TimeNs since_ns = 0, length_ns = 0;
};
Silence LongestIn(const Verdict& verdict, TimeNs begin_ns, const Moment& moment) {
  Silence longest;
  TimeNs last_ns = begin_ns;
  const auto until = [&](TimeNs t_ns) {
    if (t_ns - last_ns > longest.length_ns) longest = {last_ns, t_ns - last_ns};
    last_ns = t_ns;
  };
  for (const TracePoint& point : verdict.evidence.points) {
    if (point.t_ns >= begin_ns && point.t_ns <= moment.end_ns) until(point.t_ns);
  }
  until(moment.end_ns);
  return longest;
}

class Finder {
 public:
  Finder(const std::vector<Moment>& moments, const Requirements& requirements)
      : moments_(moments), requirements_(requirements) {}

  std::optional<Failure> Failed(const Verdict& verdict) const {
    const auto m = MomentOf(verdict);
    if (!m) return std::nullopt;
    return requirements_.IsOfDegrees(verdict.expectation) ? Missing(verdict, *m) : At(verdict, *m);
  }

  // Not observed: in the moment with the longest silence.
  std::optional<Failure> Unseen(const Verdict& verdict) const {
    std::optional<Failure> unseen;
    TimeNs longest_ns = -1;
    for (std::size_t m = 0; m < moments_.size(); ++m) {
      const Moment& moment = moments_[m];
      if (!requirements_.IsJudged(verdict.expectation, moment)) continue;
      if (moment.end_ns <= verdict.worst_ns) continue;  // there the longest silence begins
      const TimeNs settled_ns = requirements_.SettledNs(verdict.expectation, moment);
      const Silence silence = LongestIn(verdict, settled_ns, moment);
      if (silence.length_ns <= longest_ns) continue;
      longest_ns = silence.length_ns;
      const TimeNs until_ns = silence.since_ns + silence.length_ns;
      unseen = Failure{verdict.expectation, m, std::nullopt, 0, until_ns >= moment.end_ns};
      SetTimesOfSilence(verdict, until_ns, *unseen);
      if (verdict.worst_ns > 0) break;
    }
    return unseen;
  }

 private:
  // In which it was worst; or, if that was on the way there, in which it was wrong too; or the nearest.
  std::optional<std::size_t> MomentOf(const Verdict& verdict) const {
    std::optional<std::size_t> wrong, nearest;
    TimeNs least_ns = 0;
    for (std::size_t m = 0; m < moments_.size(); ++m) {
      const Moment& moment = moments_[m];
      if (!requirements_.IsJudged(verdict.expectation, moment)) continue;
      if (verdict.worst_ns >= moment.begin_ns &&
          verdict.worst_ns <= EndOfStep(moments_, moment.step)) {
        return m;
      }
      if (!wrong && AnyWrongIn(verdict, moment)) wrong = m;
      const TimeNs away_ns = std::abs(moment.begin_ns - verdict.worst_ns);
      if (nearest && away_ns >= least_ns) continue;
      nearest = m;
      least_ns = away_ns;
    }
    return wrong ? wrong : nearest;
  }
  bool AnyWrongIn(const Verdict& verdict, const Moment& moment) const {
    return std::ranges::any_of(verdict.evidence.points, [&](const TracePoint& point) {
      return point.t_ns >= moment.begin_ns && point.t_ns <= moment.end_ns &&
             !IsAsItShould(verdict.expectation, moment, point.reported);
    });
  }
  // Edges, sparks, injections that did not come: how long, its verdict does not keep. Sparks of which
  // some came were away for a while; so were edges that most cycles had.
  Failure Missing(const Verdict& verdict, std::size_t m) const {
    const bool some_came = verdict.margin_unit != "edges" || 2 * verdict.wrong < verdict.judged;
    if (some_came) {
      return {verdict.expectation, m, std::nullopt, 0, false, verdict.worst_ns, verdict.worst_ns};
    }
    return {verdict.expectation, m, std::nullopt, 0, true, moments_[m].begin_ns,
            moments_[m].end_ns};
  }
  Failure At(const Verdict& verdict, std::size_t m) const {
    const auto worst = WorstOf(verdict), last = LastIn(verdict, moments_[m]);
    const bool lasted = !last || !IsAsItShould(verdict.expectation, moments_[m], last->reported);
    const auto& told = lasted && last ? last : worst;
    Failure failure{verdict.expectation, m, told ? std::optional(told->reported) : std::nullopt,
                    told ? told->wanted : 0, lasted};
    SetTimes(verdict, moments_[m], failure);
    return failure;
  }
  void SetTimes(const Verdict& verdict, const Moment& moment, Failure& failure) const {
    std::optional<TimeNs> before_ns,
        first_ns;  // the last wrong one before, the first in the moment
    TimeNs last_ns = moment.begin_ns;
    bool right = false;     // before the moment, at last
    bool all_wrong = true;  // in the moment
    for (const TracePoint& point : verdict.evidence.points) {
      const bool wrong = IsWrong(verdict.expectation, point);
      if (point.t_ns > moment.end_ns && !(failure.lasted && wrong)) break;
      if (point.t_ns < moment.begin_ns) {
        right = !wrong;
        if (wrong) before_ns = point.t_ns;
      } else if (!wrong) {
        all_wrong = false;
      } else {
        if (!first_ns) first_ns = point.t_ns;
        last_ns = point.t_ns;
      }
    }
    failure.known_ns = first_ns.value_or(moment.begin_ns);
    if (all_wrong) failure.known_ns = Assumed(verdict.expectation, moment);
    if (!right) failure.known_ns = before_ns.value_or(failure.known_ns - FromSeconds(kLagS));
    failure.until_ns = failure.lasted ? std::max(last_ns, moment.end_ns) : last_ns;
  }
  // Over all moments in which nothing came: from the last report before, or the first time that one was
  // due since, to the next.
  void SetTimesOfSilence(const Verdict& verdict, TimeNs end_ns, Failure& failure) const {
    std::optional<TimeNs> last_ns, next_ns;
    for (const TracePoint& point : verdict.evidence.points) {
      if (point.t_ns < end_ns) last_ns = point.t_ns;
      if (point.t_ns >= end_ns && !next_ns) next_ns = point.t_ns;
    }
    std::optional<TimeNs> since_ns;
    failure.until_ns = end_ns;
    for (const Moment& moment : moments_) {
      if (!requirements_.IsJudged(failure.expectation, moment)) continue;
      if (last_ns && moment.begin_ns <= *last_ns) continue;
      if (!since_ns) since_ns = requirements_.SettledNs(failure.expectation, moment);
      if (!next_ns) failure.until_ns = std::max(failure.until_ns, moment.end_ns);
    }
    if (next_ns) failure.until_ns = *next_ns;
    const TimeNs silent_ns = std::max(since_ns.value_or(0), last_ns.value_or(0));
    failure.known_ns =
        std::min(failure.until_ns, silent_ns + requirements_.PatienceNs(failure.expectation));
  }
  // What is wrong from the first report on that is judged has not begun just then.
  TimeNs Assumed(int expectation, const Moment& moment) const {
    const TimeNs settled_ns = requirements_.SettledNs(expectation, moment);
    return std::max(moment.begin_ns, settled_ns - FromSeconds(kAssumedS));
  }
  bool IsWrong(int expectation, const TracePoint& point) const {
    for (const Moment& moment : moments_) {
      if (point.t_ns < moment.begin_ns || point.t_ns > moment.end_ns) continue;
      return !IsAsItShould(expectation, moment, point.reported);
    }
    return std::abs(point.reported - point.wanted) > point.tolerance;
  }
  bool IsAsItShould(int expectation, const Moment& moment, double reported) const {
    return !requirements_.Violated(expectation, moment, Prediction::Value(reported)).has_value();
  }

  const std::vector<Moment>& moments_;
  const Requirements& requirements_;
};

}  // namespace

bool IsOffInDegrees(const Verdict& verdict, const Requirements& requirements) {
  const std::string& unit = verdict.margin_unit;
  const bool counted = unit == "edges" || unit == "sparks" || unit == "injections";
  return verdict.outcome == Outcome::kFailed && !counted &&
         requirements.IsOfDegrees(verdict.expectation);
}

std::optional<TracePoint> LastIn(const Verdict& verdict, const Moment& moment) {
  std::optional<TracePoint> last;
  const TimeNs settled_ns = moment.begin_ns + (moment.end_ns - moment.begin_ns) / 2;
  for (const TracePoint& point : verdict.evidence.points) {
    if (point.t_ns > settled_ns && point.t_ns <= moment.end_ns) last = point;
  }
  return last;
}

bool IsSeenBetween(const Verdict& verdict, TimeNs after_ns, TimeNs until_ns) {
  if (verdict.evidence.points.empty()) return true;
  return std::ranges::any_of(verdict.evidence.points, [&](const TracePoint& point) {
    return point.t_ns > after_ns && point.t_ns <= until_ns;
  });
}

bool MayHaveBeenQuiet(const KnownQuiet& quiet, const Failure& failure) {
  return !quiet || std::ranges::any_of(*quiet, [&](const check::QuietStretch& stretch) {
    // One that was off looks for the engine's position anew.
    return stretch.begin_ns < failure.until_ns &&
           stretch.end_ns + FromSeconds(kAnewS) > failure.known_ns;
  });
}

bool IsSeenDuring(const Verdict& verdict, const Failure& failure, TimeNs lag_ns) {
  return IsSeenBetween(verdict, failure.known_ns + lag_ns, failure.until_ns);
}

std::vector<Failure> FailuresOf(const std::vector<Verdict>& verdicts,
                                const std::vector<Moment>& moments,
                                const Requirements& requirements) {
  const Finder finder(moments, requirements);
  std::vector<Failure> failures;
  for (const Verdict& verdict : verdicts) {
    std::optional<Failure> failure;
    if (IsOffInDegrees(verdict, requirements)) continue;
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
