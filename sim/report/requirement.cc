// SPDX-License-Identifier: Apache-2.0
//
// What each kind of expectation requires, as a sentence, and what it allows.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

#include "report/mute_controller.h"
#include "report/summary.h"
#include "report/text.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::report {
namespace {

namespace expect = profile::expect;

// ---- sentences ------------------------------------------------------------------------------

std::string UnitOf(const Report& report, const expect::Target& target) {
  if (target.stimulus < 0) return "";
  return Nth(report.bench->stimuli, target.stimulus).unit;
}

// The quantity that has to be shown; `unit` is that of a fixed value.
std::string Words(const Report& report, const expect::Target& target, const std::string& unit) {
  if (target.value) return Given(*target.value, unit);
  if (target.stimulus < 0) return "";
  std::string text = Nth(report.bench->stimuli, target.stimulus).name;
  if (target.absolute) text += " plus barometric pressure";
  return text;
}

std::string WithTolerance(const Report& report, const expect::Target& target,
                          const std::string& unit) {
  const std::string words = Words(report, target, unit);
  return target.tolerance > 0 ? words + " within ± " + Given(target.tolerance, unit) : words;
}

std::string Sentence(const Report& report, const expect::Follows& kind) {
  std::string unit = UnitOf(report, kind.target);
  if (kind.target.stimulus < 0) {
    if (const auto* signal = SignalOrNull(*report.bench, kind.signal)) unit = signal->unit;
  }
  return kind.signal_text + (kind.target.value ? " is " : " follows ") +
         WithTolerance(report, kind.target, unit);
}

std::string Sentence(const Report& /*report*/, const expect::Always& kind) {
  return "always " + kind.condition.text;
}

std::string Sentence(const Report& /*report*/, const expect::Never& kind) {
  return "never " + kind.condition.text;
}

std::string Sentence(const Report& /*report*/, const expect::Within& kind) {
  return kind.condition.text + " within " + Given(kind.within_s, "s");
}

std::string Sentence(const Report& /*report*/, const expect::ForAtLeast& kind) {
  return kind.condition.text + " for at least " + Given(kind.for_s, "s");
}

std::string Sentence(const Report& /*report*/, const expect::MessagePresent& kind) {
  return fmt::format("{} arrives every {} ± {}", kind.message_text, Given(kind.period_ms, "ms"),
                     Given(kind.jitter_ms, "ms"));
}

std::string Sentence(const Report& /*report*/, const expect::Counter& kind) {
  return "the rolling counter of " + kind.message_text + " counts up by one";
}

std::string Sentence(const Report& /*report*/, const expect::Checksum& kind) {
  return "the checksum of " + kind.message_text + " is correct";
}

std::string Sentence(const Report& report, const expect::DisplayShows& kind) {
  std::string gauge = "the display";
  std::string unit = UnitOf(report, kind.target);
  if (kind.gauge >= 0) {
    const profile::Readout g = Nth(profile::RequiredReadouts(*report.bench), kind.gauge);
    gauge += " (" + (g.label.empty() ? g.name : g.label) + ")";
    unit = g.unit;
  }
  std::vector<std::string> parts;
  if (!Words(report, kind.target, unit).empty()) {
    parts.push_back(WithTolerance(report, kind.target, unit));
  }
  if (kind.unit) parts.push_back("unit " + DisplayUnit(*kind.unit));
  if (kind.state) parts.push_back("state " + *kind.state);
  return gauge + " shows " + Join(parts);
}

std::string Sentence(const Report& /*report*/, const expect::Synchronised& kind) {
  return fmt::format("{} within {} crank turns", kind.condition.text, Given(kind.turns));
}

std::string Sentence(const Report& /*report*/, const expect::OnlyKnownMessages& kind) {
  return "only messages of the bench on bus " + kind.bus_text;
}

std::string Sentence(const Report& /*report*/, const expect::NoErrorFrames& kind) {
  return "no errors on bus " + kind.bus_text;
}

std::string Sentence(const Report& report, const expect::ControllerReads& kind) {
  return "the controller answers " + kind.question.text + " with " +
         WithTolerance(report, kind.target, UnitOf(report, kind.target));
}

std::string Sentence(const Report& /*report*/, const expect::TroubleCode& kind) {
  return "the controller reports " + kind.question.text + " within " + Given(kind.within_s, "s");
}

std::string Sentence(const Report& /*report*/, const expect::NoTroubleCodes& /*kind*/) {
  return "the controller reports no trouble code";
}

std::string EachOr(int cylinder, const char* event) {
  return cylinder == 0 ? fmt::format("each {}", event)
                       : fmt::format("each {} of cylinder {}", event, cylinder);
}

std::string Within(const char* what, std::optional<double> least_ms,
                   std::optional<double> most_ms) {
  if (!least_ms && !most_ms) return "";
  if (!most_ms) return fmt::format(", {} of {} or more", what, Given(*least_ms, "ms"));
  if (!least_ms) return fmt::format(", {} of {} or less", what, Given(*most_ms, "ms"));
  return fmt::format(", {} of {} to {}", what, Given(*least_ms, "ms"), Given(*most_ms, "ms"));
}

std::string DueBefore(double deg) {
  return fmt::format("{} {}", Given(std::abs(deg), "deg"), deg < 0 ? "after" : "before");
}

const char* Spark(expect::Plug plug) {
  return plug == expect::Plug::kTrailing ? "trailing spark" : "spark";
}

const char* ActInOrder(OutputKind output) {
  if (output == OutputKind::kTrailingCoil) return "trailing coils fire";
  return output == OutputKind::kCoil ? "coils fire" : "injectors open";
}

std::string Sentence(const Report& /*report*/, const expect::FiresAt& kind) {
  const bool fixed = kind.advance_at_rpm.size() == 1;
  const std::string due = fixed ? DueBefore(kind.advance_at_rpm.front().second)
                                : std::string("as its table says before");
  return fmt::format("{} comes {} top dead centre within ± {}{}",
                     EachOr(kind.cylinder, Spark(kind.plug)), due, Given(kind.tolerance_deg, "deg"),
                     Within("a dwell", kind.dwell_at_least_ms, kind.dwell_at_most_ms));
}

std::string Sentence(const Report& /*report*/, const expect::InjectsAt& kind) {
  const bool begin = kind.point == expect::InjectionPoint::kBegin;
  return fmt::format("{} {} {} before top dead centre of the intake stroke within ± {}{}",
                     EachOr(kind.cylinder, "injection"), begin ? "begins" : "ends",
                     Given(kind.before_deg, "deg"), Given(kind.tolerance_deg, "deg"),
                     Within("a length", kind.open_at_least_ms, kind.open_at_most_ms));
}

std::string Sentence(const Report& /*report*/, const expect::CamEdges& kind) {
  return fmt::format(
      "each edge of {} is at its place against the crank wheel within ± {}, none "
      "missing, none too many",
      kind.cam, Given(kind.tolerance_deg, "deg"));
}

std::string Sentence(const Report& report, const expect::Order& kind) {
  std::vector<std::string> order;
  for (const int cylinder : report.bench->engine.firing_order) {
    order.push_back(std::to_string(cylinder));
  }
  return fmt::format("{} in the order {}", ActInOrder(kind.output), fmt::join(order, "-"));
}

std::string Sentence(const Report& /*report*/, const expect::Witnessed& kind) { return kind.text; }

// ---- what is allowed ------------------------------------------------------------------------

Allowance Allowed(const expect::Follows& kind) { return {kind.target.tolerance, "", "tolerance"}; }
Allowance Allowed(const expect::Always& /*kind*/) { return {}; }
Allowance Allowed(const expect::Never& /*kind*/) { return {}; }
Allowance Allowed(const expect::Within& kind) { return {kind.within_s, "s", "time allowed"}; }
Allowance Allowed(const expect::ForAtLeast& kind) { return {kind.for_s, "s", "time required"}; }
Allowance Allowed(const expect::MessagePresent& kind) {
  return {kind.jitter_ms, "ms", "jitter allowed"};
}
Allowance Allowed(const expect::Counter& /*kind*/) { return {}; }
Allowance Allowed(const expect::Checksum& /*kind*/) { return {}; }
Allowance Allowed(const expect::DisplayShows& kind) {
  return {kind.target.tolerance, "", "tolerance"};
}
Allowance Allowed(const expect::Synchronised& kind) { return {kind.turns, "", "turns allowed"}; }
Allowance Allowed(const expect::OnlyKnownMessages& /*kind*/) { return {}; }
Allowance Allowed(const expect::NoErrorFrames& /*kind*/) { return {}; }
Allowance Allowed(const expect::ControllerReads& kind) {
  return {kind.target.tolerance, "", "tolerance"};
}
Allowance Allowed(const expect::TroubleCode& kind) { return {kind.within_s, "s", "time allowed"}; }
Allowance Allowed(const expect::NoTroubleCodes& /*kind*/) { return {}; }
Allowance Allowed(const expect::FiresAt& kind) { return {kind.tolerance_deg, "deg", "tolerance"}; }
Allowance Allowed(const expect::InjectsAt& kind) {
  return {kind.tolerance_deg, "deg", "tolerance"};
}
Allowance Allowed(const expect::CamEdges& kind) { return {kind.tolerance_deg, "deg", "tolerance"}; }
Allowance Allowed(const expect::Order& /*kind*/) { return {}; }
Allowance Allowed(const expect::Witnessed& /*kind*/) { return {}; }

}  // namespace

std::string RequirementInWords(const Report& report, const profile::Expectation& expectation) {
  const std::string what =
      std::visit([&](const auto& kind) { return Sentence(report, kind); }, expectation.kind);
  return expectation.when ? what + " when " + expectation.when->text : what;
}

Allowance AllowanceOf(const profile::Expectation& expectation) {
  return std::visit([](const auto& kind) { return Allowed(kind); }, expectation.kind);
}

std::string HeadingOf(const Report& report, const check::Verdict& verdict) {
  const profile::Expectation& e = ExpectationOf(report, verdict);
  if (IsSilence(report, verdict)) return e.means;
  if (!check::WasJudged(verdict.outcome)) return LabelOf(e.name) + " was not seen.";
  return e.means.empty() ? LabelOf(e.name) : e.means;
}

}  // namespace drycrank::report
