// SPDX-License-Identifier: Apache-2.0
//
// The verdict, the failures with the wires to look at, the pictures, and every expectation's plot.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/state_names.h"
#include "report/common_point.h"
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

std::string Badge(const Mark& mark) {
  return fmt::format("<span class=\"badge {}\">{} {}</span>", mark.key, mark.symbol, mark.word);
}

// "CLT.1 (coolant sensor)"
std::string TerminalWords(const profile::Bench& bench, const std::string& terminal) {
  const int c = profile::IndexOf(bench.connectors, terminal.substr(0, terminal.find('.')));
  if (c < 0) return terminal;
  const std::string& label = Nth(bench.connectors, c).label;
  return label.empty() ? terminal : terminal + " (" + label + ")";
}

std::string WireTable(const Report& report, const std::vector<Suspect>& suspects) {
  if (suspects.empty()) return {};
  std::string out =
      "<p class=\"look\">Wires to look at:</p><table><thead><tr><th>circuit</th><th>from</th>"
      "<th>to</th><th>colour</th><th>size</th></tr></thead><tbody>";
  std::string told;
  for (const auto& [circuit, but] : suspects) {
    if (!but.empty() && but != told) {
      out += "<tr><td colspan=\"5\">In doubt, for " + Escape(but) + ":</td></tr>";
      told = but;
    }
    const auto wires = WiresOf(*report.bench, circuit);
    if (wires.empty()) {
      out += "<tr>" + Element("th", circuit) + "<td colspan=\"4\">no wire listed</td></tr>";
    }
    for (const profile::Wire* w : wires) {
      out += "<tr>" + Element("th", circuit) +
             Element("td", TerminalWords(*report.bench, w->from)) +
             Element("td", TerminalWords(*report.bench, w->to)) +
             Element("td", w->colour.empty() ? kNoNumber : w->colour) +
             Element("td", w->gauge.empty() ? kNoNumber : w->gauge) + "</tr>";
    }
  }
  return out + "</tbody></table>";
}

std::string Failure(const Report& report, const Verdict& v) {
  const Expectation& e = ExpectationOf(report, v);
  std::string detail = v.detail;
  if (check::WasJudged(v.outcome)) detail += ", worst at " + WorstInWords(v);
  return fmt::format(
      "<article class=\"failure {}\">{}{}<p>{} <a href=\"#e{}\">{}</a>: {}</p>{}"
      "</article>\n",
      MarkOf(v.outcome).key, Element("h3", e.means.empty() ? e.name : e.means),
      Element("p", detail, "detail"), Badge(MarkOf(v.outcome)), v.expectation, Escape(e.name),
      Escape(KeepUnits(RequirementInWords(report, e))), WireTable(report, SuspectsOf(report, e)));
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
  plot.description = e.name + ": " + v.detail;
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

std::string ExpectationBlock(const Report& report, const Verdict& v) {
  const Expectation& e = ExpectationOf(report, v);
  const std::string relative = RelativeMarginInWords(report, v);
  std::string margin = "margin " + MarginInWords(report, v);
  if (!relative.empty()) margin += " (" + relative + ")";
  margin += fmt::format(", {} judged", v.judged);
  const bool witnessed = std::holds_alternative<profile::expect::Witnessed>(e.kind);
  if (witnessed) margin = v.detail;
  std::string out =
      fmt::format("<article class=\"exp {}\" id=\"e{}\"><h3>{} {}</h3>", MarkOf(v.outcome).key,
                  v.expectation, Badge(MarkOf(v.outcome)), Escape(e.name));
  out += Element("p", RequirementInWords(report, e), "req") + Element("p", margin, "margin");
  const bool explain = v.outcome != Outcome::kMet || v.stretch_count > 0;
  if (explain && !witnessed) out += Element("p", v.detail);
  if (!v.evidence.points.empty()) out += SvgPlot(PlotOf(report, v));
  return out + "</article>\n";
}

}  // namespace

std::string VerdictBox(const Report& report) {
  const bool met = AllMet(report) && !report.verdicts.empty();
  const bool failed = AnyFailed(report) || report.verdicts.empty();
  const Mark mark = MarkOf(met      ? Outcome::kMet
                           : failed ? Outcome::kFailed
                                    : Outcome::kNotObservable);
  const std::size_t faults = report.scenario->faults.size();
  std::string out = fmt::format(
      "<div class=\"verdict {}\"><p class=\"big\"><span class=\"sign\">{}</span> {}</p>", mark.key,
      mark.symbol, Escape(VerdictSentence(report)));
  if (!report.coverage.empty()) out += Element("p", CoverageSentence(report));
  if (faults > 0) {
    out += fmt::format("<p><a href=\"#faults\">{} put in on purpose</a> for this run.</p>",
                       Counted(faults, "fault"));
  }
  return out + "</div>\n";
}

std::string CommonPointArticle(const Report& report) {
  const auto point = CommonPointOf(report);
  if (!point) return {};
  std::vector<Suspect> feeds;
  for (const std::string& circuit : point->feeds) feeds.push_back({circuit, ""});
  return "<article class=\"failure failed\">" + Element("h3", CommonPointInWords(report, *point)) +
         WireTable(report, feeds) + "</article>\n";
}

std::string FailureSection(const Report& report) {
  std::string out = CommonPointArticle(report);
  for (const Verdict* v : WorstFirst(report)) {
    if (v->outcome != Outcome::kMet) out += Failure(report, *v);
  }
  if (out.empty()) return out;
  return Section(
      "failures",
      AnyFailed(report) ? "What failed, and where to look" : "What could not be observed", out);
}

std::string PictureSection(const Report& report) {
  std::string out;
  for (const ScopePicture& picture : report.pictures) {
    out += "<figure>" + Element("figcaption", picture.title) + SvgScope(picture) + "</figure>\n";
  }
  return out.empty() ? out : Section("pictures", "Signals at the terminals", out);
}

std::string ExpectationSection(const Report& report) {
  if (report.verdicts.empty()) return {};
  std::string out =
      "<p>Worst first: the margin is measured by what was allowed.</p>"
      "<div class=\"exps\">\n";
  for (const Verdict* v : WorstFirst(report)) out += ExpectationBlock(report, *v);
  return Section("expectations", "All expectations", out + "</div>");
}

}  // namespace drycrank::report
