// SPDX-License-Identifier: Apache-2.0
//
// A campaign as a page in the look of a run's: the failure-mode table, the faults that nobody would
// notice, the cautions, every fault, and the sheet to sign.
#include <fmt/format.h>

#include "report/campaign.h"
#include "report/html_parts.h"
#include "report/report.h"
#include "report/text.h"

namespace drycrank::report {
namespace {

Markup KindSection(const Campaign& campaign) {
  Markup rows;
  for (const KindRow& row : ByKind(campaign)) {
    Markup cells = TextElement("th", row.kind) + CountCell(row.faults);
    for (const std::size_t count : row.by) cells += CountCell(count);
    cells += CountCell(row.by[3] - row.unnoticed_with_effect);
    const bool show = row.worst != nullptr && row.kind != "all";
    cells += TextElement("td", show ? row.worst->words + ": " + EffectInWords(row.worst->effects[0])
                                    : std::string(kNoNumber));
    rows += Element("tr", cells);
  }
  return Section("kinds", "Who would notice, by kind of fault",
                 Table({"kind of fault", "faults", "by the controller", "by the display",
                        "by the checker only", "by nobody", "of these without effect",
                        "worst that nobody notices"},
                       rows));
}

Markup ValueSection(const Campaign& campaign) {
  const std::vector<ValueRow> values = WorstUnnoticed(campaign);
  if (values.empty()) {
    return Section(
        "values", "How wrong a value can be unnoticed",
        TextElement("p", "Every fault that moves a reported value is noticed by somebody."));
  }
  Markup rows;
  for (const ValueRow& row : values) {
    rows += Element("tr", TextElement("th", row.effect->value) +
                              TextElement("td", EffectInWords(*row.effect)) +
                              TextElement("td", row.fault->words));
  }
  return Section("values", "How wrong a value can be unnoticed",
                 Table({"value", "deviation", "fault"}, rows));
}

Markup FaultRow(const FaultResult& result) {
  std::vector<std::string> says = result.controller;
  says.insert(says.end(), result.display.begin(), result.display.end());
  for (const std::string& name : result.checker) says.push_back("not met: " + LabelOf(name));
  const std::string effect =
      result.effects.empty() ? std::string(kNoNumber) : EffectInWords(result.effects[0]);
  const bool bad = result.noticed_by == NoticedBy::kNobody && !result.effects.empty();
  return Element("tr", {IfAny("class", bad ? "failed" : "")},
                 TextElement("td", Name(result.noticed_by), "nowrap") +
                     TextElement("td", result.words) +
                     TextElement("td", says.empty() ? std::string(kNoNumber) : Join(says, "; ")) +
                     TextElement("td", effect) + TextElement("td", Name(result.made), "nowrap"));
}

// Unnoticed faults first: the table is read for them.
Markup FaultsSection(const Campaign& campaign) {
  Markup rows;
  for (const NoticedBy who :
       {NoticedBy::kNobody, NoticedBy::kChecker, NoticedBy::kDisplay, NoticedBy::kController}) {
    for (const bool with_effect : {true, false}) {
      for (const FaultResult& result : campaign.results) {
        if (result.noticed_by == who && result.effects.empty() != with_effect) {
          rows += FaultRow(result);
        }
      }
    }
  }
  return Section(
      "faults", "Every fault",
      Table({"noticed by", "fault", "what is said", "largest effect on a value", "made"}, rows));
}

Markup VerdictOf(const Campaign& campaign) {
  const KindRow all = ByKind(campaign).back();
  const bool good = all.unnoticed_with_effect == 0;
  const std::string tried = Counted(all.faults, "fault") + " tried: ";
  return Answer(MarkOf(good ? check::Outcome::kMet : check::Outcome::kFailed),
                tried + (good ? "each that moves a value is noticed by somebody."
                              : fmt::format("{} move a value and nobody notices.",
                                            all.unnoticed_with_effect)));
}

// Nothing while predictions hold.
Markup DistrustOf(const Campaign& campaign) {
  if (CountMade(campaign).trusted()) return {};
  return Answer(MarkOf(check::Outcome::kFailed), MadeInWords(campaign));
}

Markup HowMade(const Campaign& campaign) {
  const CampaignHead& h = campaign.head;
  const auto term = [](std::string_view name, const std::string& value) {
    return TextElement("dt", name) + TextElement("dd", value);
  };
  Markup terms = term("Bench", h.bench + ", " + h.bench_hash) +
                 term("Scenario", h.scenario + ", " + h.scenario_hash) +
                 term("Seed", std::to_string(h.seed)) + term("Faults", std::to_string(h.faults)) +
                 term("drycrank", h.version);
  if (h.parts > 1) terms += term("Part", fmt::format("{} of {}", h.part, h.parts));
  return Section(
      "run", "How this was made",
      Element("dl", terms) + TextElement("p", MadeInWords(campaign)) +
          TextElement("p",
                      "Each fault was put alone into the bench of stand-ins, for the whole "
                      "scenario, in virtual time, and compared with the same run without fault. A "
                      "value counts as moved when it was off for half a second by three times the "
                      "scatter of good sensors and inputs. A real controller may notice more or "
                      "less than the stand-in: its own checks are not known here. Predicted: what "
                      "the fault "
                      "does not move is taken from another run, in which the engine's inputs see "
                      "the same edges."));
}

}  // namespace

std::string CampaignHtml(const Campaign& campaign) {
  const CampaignHead& h = campaign.head;
  const std::string how =
      fmt::format("Scenario: {}, stand-ins, virtual time, seed {}", h.scenario, h.seed);
  const Markup heading =
      Element("header",
              TextElement("h1", "Every single fault of " + h.bench_title) + TextElement("p", how)) +
      "\n";
  return Page("Single faults of " + h.bench, {},
              heading + VerdictOf(campaign) + DistrustOf(campaign) + KindSection(campaign) +
                  ValueSection(campaign) + Section("cautions", "Cautions", ListOf(Cautions())) +
                  FaultsSection(campaign) + HowMade(campaign) + SignOffSection());
}

}  // namespace drycrank::report
