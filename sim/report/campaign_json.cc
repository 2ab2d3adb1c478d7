// SPDX-License-Identifier: Apache-2.0
//
// A campaign as JSON: one line per fault, its head, its summary.
#include <cmath>
#include <nlohmann/json.hpp>

#include "report/campaign.h"
#include "types/format_number.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

using Value = nlohmann::ordered_json;

constexpr const char* kFormat = "drycrank campaign";
constexpr const char* kNotACampaign = "is not the head of a campaign";

Value EffectValue(const Effect& e) {
  const auto number = [&](double value) { return e.missing ? Value(nullptr) : Value(value); };
  return {{"value", e.value},
          {"unit", e.unit},
          {"situation", e.situation},
          {"missing", e.missing},
          {"deviation", number(e.deviation)},
          {"healthy", number(e.healthy)},
          {"faulty", number(e.faulty)},
          {"says", e.says},
          {"times_sigma", e.times_sigma}};
}

Effect ReadEffect(const Value& json) {
  Effect e;
  e.value = json.at("value");
  e.unit = json.at("unit");
  e.situation = json.at("situation");
  e.missing = json.at("missing");
  e.says = json.at("says");
  e.times_sigma = json.at("times_sigma");
  if (e.missing) return e;
  e.deviation = json.at("deviation");
  e.healthy = json.at("healthy");
  e.faulty = json.at("faulty");
  return e;
}

bool ReadMade(const std::string& text, Made& out) {
  for (const Made made : kMade) {
    if (text != Name(made)) continue;
    out = made;
    return true;
  }
  return false;
}

Value FaultValue(const FaultResult& result) {
  Value effects = Value::array();
  for (const Effect& effect : result.effects) effects.push_back(EffectValue(effect));
  return {{"index", result.index},           {"kind", result.kind},
          {"fault", result.words},           {"noticed_by", Name(result.noticed_by)},
          {"controller", result.controller}, {"display", result.display},
          {"checker", result.checker},       {"made", Name(result.made)},
          {"effects", std::move(effects)}};
}

Value HeadValue(const CampaignHead& h) {
  return {{"format", kFormat},
          {"format_version", kCampaignFormat},
          {"version", h.version},
          {"bench", {{"name", h.bench}, {"title", h.bench_title}, {"hash", h.bench_hash}}},
          {"scenario", {{"name", h.scenario}, {"hash", h.scenario_hash}}},
          {"seed", h.seed},
          {"faults", h.faults},
          {"part", h.part},
          {"parts", h.parts},
          {"play_all", h.play_all}};
}

Value WorstValue(const FaultResult* fault, const Effect* effect) {
  if (fault == nullptr) return nullptr;
  Value worst = EffectValue(*effect);
  worst["fault"] = fault->words;
  worst["index"] = fault->index;
  return worst;
}

}  // namespace

std::string FaultLine(const FaultResult& result) {
  return FaultValue(result).dump(-1, ' ', false, Value::error_handler_t::replace);
}

bool ReadFaultLine(std::string_view line, FaultResult& out) {
  const Value json = Value::parse(line, nullptr, false);
  if (!json.is_object()) return false;
  try {
    out = {};
    out.index = json.at("index");
    out.kind = json.at("kind");
    out.words = json.at("fault");
    const std::string who = json.at("noticed_by");
    bool known = false;
    for (const NoticedBy by : kNoticedBy) {
      if (who != Name(by)) continue;
      out.noticed_by = by;
      known = true;
    }
    out.controller = json.at("controller");
    out.display = json.at("display");
    out.checker = json.at("checker");
    known = known && ReadMade(json.value("made", Name(Made::kPlayed)), out.made);
    for (const Value& effect : json.at("effects")) out.effects.push_back(ReadEffect(effect));
    return known;
  } catch (const Value::exception&) {
    return false;
  }
}

std::string HeadJson(const CampaignHead& head) {
  return HeadValue(head).dump(2, ' ', false, Value::error_handler_t::replace) + "\n";
}

std::string ReadHeadJson(std::string_view text, CampaignHead& out) {
  const Value json = Value::parse(text, nullptr, false);
  try {
    if (!json.is_object() || json.at("format") != kFormat) return kNotACampaign;
    const std::string why = WhyNotRead(json.at("format_version"), kCampaignFormat);
    if (!why.empty()) return "is the head of a campaign, but " + why;
    out.version = json.at("version");
    out.bench = json.at("bench").at("name");
    out.bench_title = json.at("bench").at("title");
    out.bench_hash = json.at("bench").at("hash");
    out.scenario = json.at("scenario").at("name");
    out.scenario_hash = json.at("scenario").at("hash");
    out.seed = json.at("seed");
    out.faults = json.at("faults");
    out.part = json.at("part");
    out.parts = json.at("parts");
    out.play_all = json.value("play_all", true);
    return "";
  } catch (const Value::exception&) {
    return kNotACampaign;
  }
}

std::string CampaignJson(const Campaign& campaign) {
  Value all = HeadValue(campaign.head);
  const MadeCounts counts = CountMade(campaign);
  for (const Made made : kMade) all["made"][Name(made)] = Nth(counts.of, made);
  all["predictions_trusted"] = counts.trusted();
  all["kinds"] = Value::array();
  for (const KindRow& row : ByKind(campaign)) {
    Value kind = {{"kind", row.kind}, {"faults", row.faults}};
    for (const NoticedBy by : kNoticedBy) kind[Name(by)] = Nth(row.by, by);
    kind["nobody_with_effect"] = row.unnoticed_with_effect;
    kind["worst"] = WorstValue(row.worst, row.worst ? &row.worst->effects[0] : nullptr);
    all["kinds"].push_back(std::move(kind));
  }
  all["worst_unnoticed"] = Value::array();
  for (const ValueRow& row : WorstUnnoticed(campaign)) {
    all["worst_unnoticed"].push_back(WorstValue(row.fault, row.effect));
  }
  return all.dump(2, ' ', false, Value::error_handler_t::replace) + "\n";
}

}  // namespace drycrank::report
