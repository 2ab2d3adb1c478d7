// SPDX-License-Identifier: Apache-2.0
//
// The verdict, the failures with the wires to look at, the pictures, and every expectation's plot.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/state_names.h"
#include "report/common_point.h"
#include "report/cycle_scope.h"
#include "report/headline.h"
#include "report/html_parts.h"
#include "report/scope.h"
#include "report/summary.h"
#include "report/svg_plot.h"
#include "report/text.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::report {
namespace {

using check::Outcome;
using check::Verdict;
using profile::Compare;
using profile::Expectation;

Markup Badge(const Mark& mark) {
  return Element("span", {{"class", fmt::format("badge {}", mark.key)}},
                 fmt::format("{} {}", mark.symbol, mark.word));
}

// "CLT.1 (coolant sensor)"
std::string TerminalWords(const profile::Bench& bench, const std::string& terminal) {
  const int c = profile::IndexOf(bench.connectors, terminal.substr(0, terminal.find('.')));
  if (c < 0) return terminal;
  const std::string& label = Nth(bench.connectors, c).label;
  return label.empty() ? terminal : terminal + " (" + label + ")";
}

Markup WireRows(const Report& report, const std::string& circuit) {
  const auto wires = WiresOf(*report.bench, circuit);
  if (wires.empty()) {
    return Element("tr",
                   TextElement("th", circuit) + Element("td", {{"colspan", 4}}, "no wire listed"));
  }
  Markup rows;
  for (const profile::Wire* w : wires) {
    rows += Element("tr", TextElement("th", circuit) +
                              TextElement("td", TerminalWords(*report.bench, w->from)) +
                              TextElement("td", TerminalWords(*report.bench, w->to)) +
                              TextElement("td", w->colour.empty() ? kNoNumber : w->colour) +
                              TextElement("td", w->gauge.empty() ? kNoNumber : w->gauge));
  }
  return rows;
}

Markup WireTable(const Report& report, const std::vector<Suspect>& suspects) {
  if (suspects.empty()) return {};
  Markup rows;
  std::string told;
  for (const auto& [circuit, explains, but] : suspects) {
    if (!but.empty() && but != told) {
      rows += Element("tr", Element("td", {{"colspan", 5}}, "Last at: " + but + ":"));
      told = but;
    }
    rows += WireRows(report, circuit);
  }
  const bool explained = suspects.front().explains;
  return Element("p", {{"class", "look"}}, explained ? "Wires to look at:" : "If it is a wire:") +
         Element("div", {{"class", "wires"}},
                 Table({"circuit", "from", "to", "colour", "size"}, rows));
}

Markup Failure(const Report& report, const Verdict& v) {
  const Expectation& e = ExpectationOf(report, v);
  const Mark mark = MarkOf(v.outcome);
  std::string detail = v.detail;
  if (check::WasJudged(v.outcome)) detail += ", worst at " + WorstInWords(v);
  const Markup link = Element("a", {{"href", fmt::format("#e{}", v.expectation)}}, LabelOf(e.name));
  return Element("article", {{"class", fmt::format("failure {}", mark.key)}},
                 TextElement("h3", HeadingOf(report, v)) + TextElement("p", detail, "detail") +
                     Element("p", Badge(mark) + " " + link + ": " +
                                      KeepUnits(RequirementInWords(report, e))) +
                     WireTable(report, SuspectsOf(report, v.expectation))) +
         "\n";
}

// The signal whose values an expectation's evidence shows, if it has names for them.
const profile::Signal* NamedSignal(const Report& report, const Expectation& e) {
  const auto* follows = std::get_if<profile::expect::Follows>(&e.kind);
  const profile::Condition* condition = profile::ConditionOf(e.kind);
  if (follows == nullptr && condition == nullptr) return nullptr;
  const profile::Signal* signal =
      SignalOrNull(*report.bench, follows != nullptr ? follows->signal : condition->signal);
  return signal != nullptr && !profile::NamesOfValues(*signal).empty() ? signal : nullptr;
}

std::string LevelWords(Compare compare, bool never) {
  switch (compare) {
    case Compare::kEqual:
      return never ? "must never be this" : "wanted";
    case Compare::kNotEqual:
      return never ? "must stay at this" : "must not be this";
    case Compare::kAbove:
      return never ? "must never be above" : "must be above";
    case Compare::kBelow:
      break;
  }
  return never ? "must never be below" : "must be below";
}

Plot PlotOf(const Report& report, const Verdict& v) {
  const Expectation& e = ExpectationOf(report, v);
  Plot plot;
  if (v.outcome != Outcome::kMet) {
    plot.width = 940;
    plot.height = 260;
  }
  const std::string unit = DisplayUnit(v.evidence.unit);
  plot.y_caption = v.evidence.quantity + (unit.empty() ? "" : ", " + unit);
  plot.description = LabelOf(e.name) + ": " + v.detail;
  plot.points = v.evidence.points;
  if (check::WasJudged(v.outcome)) plot.worst_ns = v.worst_ns;
  if (const profile::Condition* condition = profile::ConditionOf(e.kind)) {
    const bool never = std::holds_alternative<profile::expect::Never>(e.kind);
    plot.draw_wanted = false;
    plot.stepped = true;
    plot.levels.emplace_back(condition->value, LevelWords(condition->compare, never));
  }
  if (const profile::Signal* signal = NamedSignal(report, e)) {
    plot.stepped = true;
    for (const auto& [raw, name] : profile::NamesOfValues(*signal)) {
      plot.tick_names.emplace_back(static_cast<double>(raw) * signal->scale + signal->offset, name);
    }
  }
  return plot;
}

Markup ExpectationBlock(const Report& report, const Verdict& v) {
  const Expectation& e = ExpectationOf(report, v);
  const Mark mark = MarkOf(v.outcome);
  const std::string relative = RelativeMarginInWords(report, v);
  std::string margin = "margin " + MarginInWords(report, v);
  if (!relative.empty()) margin += " (" + relative + ")";
  margin += ", judged " + Counted(v.judged, "time");
  const bool witnessed = std::holds_alternative<profile::expect::Witnessed>(e.kind);
  if (witnessed) margin = v.detail;
  Markup out = Element("h3", {{"title", e.name}}, Badge(mark) + " " + LabelOf(e.name)) +
               TextElement("p", RequirementInWords(report, e), "req") +
               TextElement("p", margin, "margin");
  const bool explain = v.outcome != Outcome::kMet || v.stretch_count > 0;
  if (explain && !witnessed) out += TextElement("p", v.detail);
  if (!v.evidence.points.empty()) out += SvgPlot(PlotOf(report, v));
  return Element("article",
                 {{"class", fmt::format("exp {}", mark.key)},
                  {"id", fmt::format("e{}", v.expectation)}},
                 out) +
         "\n";
}

Markup CommonPointArticle(const Report& report) {
  const auto point = CommonPointOf(report);
  if (!point) return {};
  std::vector<Suspect> feeds;
  for (const std::string& circuit : point->feeds) feeds.push_back({circuit, true});
  return Element("article", {{"class", "failure failed"}},
                 TextElement("h3", CommonPointInWords(report, *point)) + WireTable(report, feeds)) +
         "\n";
}

}  // namespace

Markup VerdictBox(const Report& report) {
  Markup more = TextElement("p", WhatWasJudged(report));
  if (!report.coverage.empty()) more += TextElement("p", CoverageSentence(report));
  if (const std::size_t faults = report.scenario->faults.size(); faults > 0) {
    const std::string words = Counted(faults, "fault") + " put in on purpose";
    more += Element("p", Element("a", {{"href", "#faults"}}, words) + " for this run.");
  }
  return Answer(HeadlineMark(report), Headline(report), more);
}

Markup FailureSection(const Report& report) {
  Markup out = CommonPointArticle(report);
  for (const Verdict* v : WorstFirst(report)) {
    const bool unseen = v->outcome == Outcome::kNotObserved && !UnseenIsFailure(report);
    if (v->outcome != Outcome::kMet && !unseen) out += Failure(report, *v);
  }
  if (out.empty()) return out;
  return Section(
      "failures",
      AnyFailed(report) ? "What failed, and where to look" : "What could not be observed", out);
}

Markup PictureSection(const Report& report) {
  Markup out;
  for (const CyclePicture& cycle : report.cycles) out += CycleFigure(cycle);
  for (const ScopePicture& picture : report.pictures) {
    out += Element("figure", TextElement("figcaption", picture.title) + SvgScope(picture)) + "\n";
  }
  if (!report.cycles.empty()) out += Element("script", Markup::Raw(kCycleScript));
  return out.empty() ? out : Section("pictures", "Signals at the terminals", out);
}

Markup ExpectationSection(const Report& report) {
  if (report.verdicts.empty()) return {};
  Markup blocks = "\n";
  for (const Verdict* v : WorstFirst(report)) blocks += ExpectationBlock(report, *v);
  return Section("expectations", "All expectations",
                 Element("p", "Worst first, by how much of the allowed deviation is left.") +
                     Element("div", {{"class", "exps"}}, blocks));
}

}  // namespace drycrank::report
