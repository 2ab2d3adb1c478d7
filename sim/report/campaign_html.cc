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

std::string KindSection(const Campaign& campaign) {
  std::string rows;
  for (const KindRow& row : ByKind(campaign)) {
    rows += "<tr>" + Element("th", row.kind);
    rows += Element("td", std::to_string(row.faults), "num");
    for (const std::size_t count : row.by) rows += Element("td", std::to_string(count), "num");
    rows += Element("td", std::to_string(row.by[3] - row.unnoticed_with_effect), "num");
    const bool show = row.worst != nullptr && row.kind != "all";
    rows += Element("td", show ? row.worst->words + ": " + EffectInWords(row.worst->effects[0])
                               : std::string(kNoNumber)) +
            "</tr>";
  }
  return Section("kinds", "Who would notice, by kind of fault",
                 Table({"kind of fault", "faults", "by the controller", "by the display",
                        "by the checker only", "by nobody", "of these without effect",
                        "worst that nobody notices"},
                       rows));
}

std::string ValueSection(const Campaign& campaign) {
  const std::vector<ValueRow> values = WorstUnnoticed(campaign);
  if (values.empty()) {
    return Section("values", "How wrong a value can be unnoticed",
                   Element("p", "Every fault that moves a reported value is noticed by somebody."));
  }
  std::string rows;
  for (const ValueRow& row : values) {
    rows += "<tr>" + Element("th", row.effect->value) + Element("td", EffectInWords(*row.effect)) +
            Element("td", row.fault->words) + "</tr>";
  }
  return Section("values", "How wrong a value can be unnoticed",
                 Table({"value", "deviation", "fault"}, rows));
}

std::string FaultRow(const FaultResult& result) {
  std::vector<std::string> says = result.controller;
  says.insert(says.end(), result.display.begin(), result.display.end());
  for (const std::string& name : result.checker) says.push_back("not met: " + LabelOf(name));
  const std::string effect =
      result.effects.empty() ? std::string(kNoNumber) : EffectInWords(result.effects[0]);
  const bool bad = result.noticed_by == NoticedBy::kNobody && !result.effects.empty();
  return fmt::format("<tr{}>", bad ? " class=\"failed\"" : "") +
         Element("td", Name(result.noticed_by), "nowrap") + Element("td", result.words) +
         Element("td", says.empty() ? kNoNumber : std::string_view(Join(says, "; "))) +
         Element("td", effect) + "</tr>";
}

// Unnoticed faults first: the table is read for them.
std::string FaultsSection(const Campaign& campaign) {
  std::string rows;
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
  return Section("faults", "Every fault",
                 Table({"noticed by", "fault", "what is said", "largest effect on a value"}, rows));
}

std::string VerdictOf(const Campaign& campaign) {
  const KindRow all = ByKind(campaign).back();
  const bool good = all.unnoticed_with_effect == 0;
  const std::string text =
      good ? fmt::format("{} tried: each that moves a value is noticed by somebody.",
                         Counted(all.faults, "fault"))
           : fmt::format("{} tried: {} move a value and nobody notices.",
                         Counted(all.faults, "fault"), all.unnoticed_with_effect);
  return fmt::format("<div class=\"verdict {}\">", good ? "met" : "failed") +
         fmt::format("<p class=\"big\"><span class=\"sign\">{}</span> {}</p></div>\n",
                     good ? "✓" : "✗", Escape(text));
}

std::string HowMade(const CampaignHead& h) {
  const auto term = [](std::string_view name, const std::string& value) {
    return Element("dt", name) + Element("dd", value);
  };
  std::string out = "<dl>" + term("Bench", h.bench + ", " + h.bench_hash) +
                    term("Scenario", h.scenario + ", " + h.scenario_hash) +
                    term("Seed", std::to_string(h.seed)) +
                    term("Faults", std::to_string(h.faults)) + term("drycrank", h.version);
  if (h.parts > 1) out += term("Part", fmt::format("{} of {}", h.part, h.parts));
  out += "</dl>";
  out += Element(
      "p",
      "Each fault was put alone into the bench of stand-ins, for the whole scenario, in virtual "
      "time, and compared with the same run without fault. A value counts as moved when it was off "
      "for half a second by three times the scatter of good sensors and inputs. A real "
      "controller may notice more or less than the stand-in: its own checks are not known here.");
  return Section("run", "How this was made", out);
}

}  // namespace

std::string CampaignHtml(const Campaign& campaign) {
  const CampaignHead& h = campaign.head;
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n";
  out += Element("title", "Single faults of " + h.bench) + "<style>\n";
  out += kStyleSheet;
  out +=
      "</style></head><body>\n<header>" + Element("h1", "Every single fault of " + h.bench_title) +
      Element("p",
              fmt::format("Scenario: {}, stand-ins, virtual time, seed {}", h.scenario, h.seed)) +
      "</header>\n";
  out += VerdictOf(campaign) + KindSection(campaign) + ValueSection(campaign);
  out += Section("cautions", "Cautions", ListOf(Cautions()));
  out += FaultsSection(campaign) + HowMade(h) + SignOffSection();
  return out + "</body></html>\n";
}

}  // namespace drycrank::report
