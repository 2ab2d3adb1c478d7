// SPDX-License-Identifier: Apache-2.0
//
// What failed in a run, or was not seen, as a court needs it: in which moment, and what was reported
// there. A report that is still wrong at the end of its step has settled; one that was wrong for a
// while only is somewhere between what it should be and what a fault makes of it.
#ifndef DRYCRANK_STUDY_FAILURES_H_
#define DRYCRANK_STUDY_FAILURES_H_

#include <cstddef>
#include <optional>
#include <vector>

#include "check/checker.h"
#include "study/moments.h"
#include "study/requirements.h"

namespace drycrank::study {

struct Failure {
  int expectation = 0;
  std::size_t moment = 0;          // of the step in which it was worst
  std::optional<double> reported;  // nothing: nothing was reported
  double wanted = 0;               // at that time
  bool lasted = true;              // to the end of the step
  // Whatever did it was there at known_ns (the first of the wrong reports that came in a row, or when one
  // was due that did not come), and until until_ns at least (the last of them).
  TimeNs known_ns = 0, until_ns = 0;

  // Too short for what was reported to be what a fault makes of it in the end.
  bool brief() const { return !lasted || until_ns - known_ns < kBriefNs; }
  static constexpr TimeNs kBriefNs = 750 * kNsPerMs;
};

// Did it come, but at the wrong degree or in the wrong order? Wheels and settings do that, not wires. What
// does not come may be a wire's doing.
bool IsOffInDegrees(const check::Verdict& verdict, const Requirements& requirements);

// Of those that have a moment.
std::vector<Failure> FailuresOf(const std::vector<check::Verdict>& verdicts,
                                const std::vector<Moment>& moments,
                                const Requirements& requirements);

// Their moments, each once, at most so many.
std::vector<std::size_t> FailedMoments(const std::vector<Failure>& failures, std::size_t most);

// The last report of the step that the verdict has kept, once all has settled.
std::optional<check::TracePoint> LastIn(const check::Verdict& verdict, const Moment& moment);

// Was there a report of this while that failed, `lag_ns` after it began, as far as the verdict keeps
// reports?
bool IsSeenDuring(const check::Verdict& verdict, const Failure& failure, TimeNs lag_ns);
// May the controller have been silent on every bus while that failed? Yes where that is not known.
using KnownQuiet = std::optional<std::vector<check::QuietStretch>>;
bool MayHaveBeenQuiet(const KnownQuiet& quiet, const Failure& failure);
// The same as IsSeenDuring, of any time.
bool IsSeenBetween(const check::Verdict& verdict, TimeNs after_ns, TimeNs until_ns);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_FAILURES_H_
