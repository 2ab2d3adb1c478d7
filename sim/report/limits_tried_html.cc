// SPDX-License-Identifier: Apache-2.0
//
// Limits tried, as a page in the look of a run's: the table, what failed and why, what each of them must
// do, the cautions, and the sheet to sign.
#include <fmt/format.h>

#include "profile/protection_words.h"
#include "report/html_parts.h"
#include "report/limits_tried.h"
#include "report/report.h"
#include "report/text.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

using profile::Protection;

Markup Cell(const std::optional<double>& value, const auto& words) {
  return TextElement("td", value ? words(*value) : std::string(kNoNumber));
}

// "149.5 kPa, due 150 kPa ± 3 kPa"
Markup ValueCell(const Protection& p, const std::optional<double>& value, double due) {
  const std::string is = value ? ValueInWords(p, *value) : std::string(kNoNumber);
  return TextElement(
      "td", fmt::format("{}, due {} ± {}", is, Given(due, p.unit), ValueInWords(p, p.tolerance)));
}

Markup Row(const Limits& limits, const LimitResult& result) {
  const Protection& p = Nth(limits.bench->protections, result.index);
  const Mark mark = MarkOf(result.outcome());
  return Element(
      "tr", {{"class", mark.key}},
      TextElement("td", fmt::format("{} {}", mark.symbol, mark.word), "nowrap") +
          TextElement("th", p.label) + ValueCell(p, result.trips_at, p.limit) +
          Cell(result.within_ms,
               [&](double ms) {
                 return fmt::format("{:.0f} ms, at most {:.0f} ms", ms, result.within_allowed_ms);
               }) +
          ValueCell(p, result.released_at, p.release) + TextElement("td", InWords(result.open)) +
          TextElement("td", InWords(result.shorted)));
}

Markup TableSection(const Limits& limits) {
  Markup rows;
  for (const LimitResult& result : limits.results) rows += Row(limits, result);
  return Section("limits", "Limits",
                 Table({"verdict", "limit", "trips at", "within", "released at", "with wire open",
                        "with wire shorted"},
                       rows));
}

Markup WhySection(const Limits& limits) {
  Markup items;
  for (const LimitResult& result : limits.results) {
    const Protection& p = Nth(limits.bench->protections, result.index);
    if (result.failures.empty() && result.not_shown.empty()) continue;
    std::vector<std::string> lines = result.failures;
    lines.insert(lines.end(), result.not_shown.begin(), result.not_shown.end());
    items += TextElement("h3", p.label) +
             TextElement("p", "Required: " + InWords(*limits.bench, p) + ".") + ListOf(lines);
  }
  return items.empty() ? Markup() : Section("failures", "What is not as it should be", items);
}

Markup RequiredSection(const Limits& limits) {
  Markup rows;
  for (const LimitResult& result : limits.results) {
    const Protection& p = Nth(limits.bench->protections, result.index);
    const std::string held = result.limited_to_rpm
                                 ? fmt::format("{:.0f} r/min", *result.limited_to_rpm)
                                 : std::string(kNoNumber);
    const std::string at =
        result.engine_rpm > 0 ? fmt::format("{:.0f} r/min", result.engine_rpm) : "not tried";
    rows +=
        Element("tr", TextElement("th", p.label) + TextElement("td", InWords(*limits.bench, p)) +
                          TextElement("td", at, "num") + TextElement("td", held, "num"));
  }
  return Section("required", "What each must do",
                 Table({"limit", "required", "tried at", "held the engine at"}, rows));
}

Markup VerdictOf(const Limits& limits) {
  const check::Outcome outcome = AnyFailed(limits)     ? check::Outcome::kFailed
                                 : AnyNotShown(limits) ? check::Outcome::kNotObservable
                                                       : check::Outcome::kMet;
  const std::string blind = BlindSentence(limits);
  return Answer(MarkOf(outcome), LimitsSentence(limits),
                (blind.empty() ? Markup() : TextElement("p", blind)) +
                    TextElement("p", "Nothing real was judged: a stand-in played the controller."));
}

}  // namespace

std::string LimitsHtml(const Limits& limits) {
  std::string how =
      fmt::format("A stand-in for the controller, virtual time, seed {}", limits.seed);
  if (!limits.faults.empty()) how += "; put in: " + Join(limits.faults, "; ");
  const Markup heading = Element("header", TextElement("h1", "Limits of " + limits.bench->title) +
                                               TextElement("p", how)) +
                         "\n";
  const Markup made = Section(
      "run", "How this was made",
      TextElement(
          "p",
          "With the engine running each value was driven over its limit and back, slowly and at "
          "once, while all others were good; then with its sensor's wire open, and shorted to "
          "ground. What the controller did is taken from its coils, injectors, outputs and "
          "messages. drycrank " +
              limits.version + "."));
  return Page("Limits of " + limits.bench->name, {},
              heading + VerdictOf(limits) + WhySection(limits) + TableSection(limits) +
                  RequiredSection(limits) + Section("cautions", "Cautions", ListOf(Cautions())) +
                  made + SignOffSection());
}

}  // namespace drycrank::report
