// SPDX-License-Identifier: Apache-2.0
#include "report/headline.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/text.h"

namespace drycrank::report {
namespace {

bool IsReal(const Report& report) { return report.controller_real || report.display_real; }

}  // namespace

Standing StandingOf(const Report& report) {
  const Counts n = Count(report);
  if (AnyFailed(report) || n.circuits_failed > 0) return Standing::kFailed;
  if (report.stopped) return Standing::kStopped;
  if (n.expectations == 0) return Standing::kNothing;
  if (n.not_observable > 0 || n.not_observed > 0) return Standing::kNotSeen;
  const bool all_to_be_shown = report.is_walk || IsReal(report);
  if (all_to_be_shown && n.circuits_not_shown > 0) return Standing::kNotReady;
  return IsReal(report) ? Standing::kReady : Standing::kAsDrawn;
}

std::string NothingCame(const Report& report) {
  const bool silent = std::ranges::all_of(report.verdicts, [](const check::Verdict& verdict) {
    return verdict.outcome == check::Outcome::kNotObserved;
  });
  if (!report.controller_real || report.verdicts.empty() || !silent) return "";
  return "No expected message came from the controller: nothing is known about its wires. Is it "
         "powered? Is the bit rate right? Are CANH and CANL connected? Try drycrank doctor.";
}

std::string WhatWasJudged(const Report& report) {
  if (report.from_recording) {
    return "A recording was judged: who sent and what was driven is not in it.";
  }
  if (std::string nothing = NothingCame(report); !nothing.empty()) return nothing;
  if (report.controller_real && report.display_real) return "Controller and display were real.";
  if (report.controller_real) return "The controller was real; a stand-in played the display.";
  if (report.display_real) return "The display was real; a stand-in played the controller.";
  return "Nothing real was judged: stand-ins played controller and display.";
}

std::string Headline(const Report& report) {
  const Counts n = Count(report);
  const std::string verdict = VerdictSentence(report) + ".";
  const std::string open = Counted(n.circuits_not_shown, "circuit") + " not shown";
  switch (StandingOf(report)) {
    case Standing::kFailed:
      if (n.circuits_failed == 0) return "FAILED: " + verdict;
      return fmt::format("FAILED: {}, {}", Counted(n.circuits_failed, "circuit"), verdict);
    case Standing::kStopped:
      return fmt::format("STOPPED at {}: the rest was not judged; {}", Seconds(report.duration_ns),
                         verdict);
    case Standing::kNothing:
      return "NOTHING SHOWN: the scenario expects nothing.";
    case Standing::kNotSeen:
      return "NOT OBSERVED: " + verdict;
    case Standing::kNotReady:
      return fmt::format("{}: {}; {}", IsReal(report) ? "NOT READY" : "NOT ALL SHOWN", open,
                         verdict);
    case Standing::kReady:
      return fmt::format("READY: every circuit proven{}, {}",
                         n.circuits_signed > 0 ? " or signed over" : "", verdict);
    case Standing::kAsDrawn:
      break;
  }
  return (report.from_recording ? "The recording is as expected: " : "The bench as drawn works: ") +
         verdict;
}

Mark HeadlineMark(const Report& report) {
  switch (StandingOf(report)) {
    case Standing::kFailed:
      return {"✗", "failed", "failed"};
    case Standing::kReady:
    case Standing::kAsDrawn:
      return {"✓", "met", "met"};
    case Standing::kStopped:
    case Standing::kNothing:
    case Standing::kNotSeen:
    case Standing::kNotReady:
      break;
  }
  return {"○", "not shown", "not_shown"};
}

}  // namespace drycrank::report
