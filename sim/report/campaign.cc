// SPDX-License-Identifier: Apache-2.0
#include "report/campaign.h"

#include <fmt/format.h>

#include <cmath>
#include <map>

#include "report/text.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

bool IsWorse(const FaultResult& a, const FaultResult* b) {
  if (b == nullptr) return true;
  return a.effects[0].times_sigma > b->effects[0].times_sigma;
}

void Count(const FaultResult& result, KindRow& row) {
  ++row.faults;
  ++Nth(row.by, result.noticed_by);
  if (result.noticed_by != NoticedBy::kNobody || result.effects.empty()) return;
  ++row.unnoticed_with_effect;
  if (IsWorse(result, row.worst)) row.worst = &result;
}

// "  worst: ..." below a row, wrapped.
void AddWrapped(const std::string& head, const std::string& text, int columns, std::string& out) {
  std::string indent = head;
  for (const std::string& line : Wrap(text, columns - Width(head))) {
    out += indent + line + "\n";
    indent.assign(AsSize(Width(head)), ' ');
  }
}

std::string Row(const std::string& kind, const std::vector<std::string>& cells) {
  std::string row = PadRight(kind, 20) + PadLeft(cells[0], 8);
  for (std::size_t i = 1; i < cells.size(); ++i) row += PadLeft(cells[i], 14);
  return row + "\n";
}

}  // namespace

const char* Name(NoticedBy who) {
  switch (who) {
    case NoticedBy::kController:
      return "controller";
    case NoticedBy::kDisplay:
      return "display";
    case NoticedBy::kChecker:
      return "checker";
    case NoticedBy::kNobody:
      break;
  }
  return "nobody";
}

const char* Name(Made made) {
  switch (made) {
    case Made::kPredicted:
      return "predicted";
    case Made::kProven:
      return "predicted and played";
    case Made::kDisproven:
      return "played, not as predicted";
    case Made::kPlayed:
      break;
  }
  return "played";
}

FaultResult Compared(const FaultResult& predicted, const FaultResult& played) {
  FaultResult as_played = predicted;
  as_played.made = Made::kPlayed;
  FaultResult stands = played;
  stands.made = FaultLine(as_played) == FaultLine(played) ? Made::kProven : Made::kDisproven;
  return stands;
}

double Rounded(double value) {
  if (value == 0 || !std::isfinite(value)) return 0;
  const double scale = std::pow(10, 5 - std::floor(std::log10(std::abs(value))));
  return std::round(value * scale) / scale;
}

std::string EffectInWords(const Effect& e) {
  if (e.missing) return fmt::format("{}: no value any more, in {}", e.value, e.situation);
  if (!e.says.empty()) return fmt::format("{} {}, in {}", e.value, e.says, e.situation);
  const int decimals = DecimalsFor(std::abs(e.deviation));
  return fmt::format(
      "{} {}: {}, should be {}, in {}", e.value, SignedQuantity(e.deviation, e.unit, decimals),
      Quantity(e.faulty, e.unit, decimals), Quantity(e.healthy, e.unit, decimals), e.situation);
}

std::vector<KindRow> ByKind(const Campaign& campaign) {
  std::vector<KindRow> rows;
  KindRow all;
  all.kind = "all";
  for (const FaultResult& result : campaign.results) {
    std::size_t at = 0;
    while (at < rows.size() && rows[at].kind != result.kind) ++at;
    if (at == rows.size()) rows.emplace_back().kind = result.kind;
    Count(result, rows[at]);
    Count(result, all);
  }
  rows.push_back(all);
  return rows;
}

std::vector<ValueRow> WorstUnnoticed(const Campaign& campaign) {
  std::map<std::string, ValueRow> worst;
  for (const FaultResult& result : campaign.results) {
    if (result.noticed_by != NoticedBy::kNobody) continue;
    for (const Effect& effect : result.effects) {
      ValueRow& row = worst[effect.value];
      if (row.effect == nullptr || effect.times_sigma > row.effect->times_sigma) {
        row = {&result, &effect};
      }
    }
  }
  std::vector<ValueRow> rows;
  for (const auto& [value, row] : worst) rows.push_back(row);
  return rows;
}

MadeCounts CountMade(const Campaign& campaign) {
  MadeCounts counts;
  for (const FaultResult& result : campaign.results) ++Nth(counts.of, result.made);
  return counts;
}

std::string MadeInWords(const Campaign& campaign) {
  const auto [played, predicted, proven, disproven] = CountMade(campaign).of;
  if (disproven > 0) {
    return fmt::format(
        "Predictions are not to be trusted here: {} played otherwise than predicted, and {} as "
        "predicted. What was played stands{}.",
        disproven, proven, predicted > 0 ? "; the rest is predicted" : ", for every fault");
  }
  if (predicted + proven == 0) return "Every fault was played.";
  return fmt::format("Predicted: {}, of which {} were played as well and say the same. Played: {}.",
                     predicted + proven, proven, played);
}

std::string CampaignText(const Campaign& campaign, int columns) {
  const CampaignHead& h = campaign.head;
  std::string out = fmt::format("Every single fault of {}, one at a time\n", h.bench_title);
  out += fmt::format("{}, seed {}, stand-ins in virtual time; {} of {}", h.scenario, h.seed,
                     campaign.results.size(), Counted(h.faults, "fault"));
  if (h.parts > 1) out += fmt::format(", part {} of {}", h.part, h.parts);
  out += "\n";
  for (const std::string& line : Wrap(MadeInWords(campaign), columns)) out += line + "\n";
  out += "\n";
  out += Row("", {"", "noticed", "noticed", "seen by the", "noticed by", "of these no"});
  out += Row("kind of fault",
             {"faults", "by controller", "by display", "checker only", "nobody", "effect"});
  for (const KindRow& row : ByKind(campaign)) {
    out += Row(row.kind,
               {std::to_string(row.faults), std::to_string(row.by[0]), std::to_string(row.by[1]),
                std::to_string(row.by[2]), std::to_string(row.by[3]),
                std::to_string(row.by[3] - row.unnoticed_with_effect)});
    if (row.worst == nullptr || row.kind == "all") continue;
    AddWrapped("    worst that nobody notices: ",
               row.worst->words + ": " + EffectInWords(row.worst->effects[0]), columns, out);
  }
  const std::vector<ValueRow> values = WorstUnnoticed(campaign);
  if (values.empty()) {
    return out + "\nEvery fault that moves a reported value is noticed by somebody.\n";
  }
  out += "\nHow wrong each value can be without anybody noticing:\n";
  for (const ValueRow& row : values) {
    AddWrapped("  ", EffectInWords(*row.effect) + ": " + row.fault->words, columns, out);
  }
  return out;
}

}  // namespace drycrank::report
