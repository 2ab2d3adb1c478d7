// SPDX-License-Identifier: Apache-2.0
#include "report/limits_tried.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "profile/protection_words.h"
#include "report/report.h"
#include "report/text.h"
#include "types/format_number.h"
#include "types/markup.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

using profile::LimitSide;
using profile::Protection;
using profile::ProtectionAction;
using JsonValue = nlohmann::ordered_json;

const Protection& Of(const Limits& limits, const LimitResult& result) {
  return Nth(limits.bench->protections, result.index);
}

std::string Or(const std::optional<double>& value, const auto& words) {
  return value ? words(*value) : std::string(kNoNumber);
}

const char* WordOf(ProtectionAction action) {
  switch (action) {
    case ProtectionAction::kSparkCut:
      return "spark_cut";
    case ProtectionAction::kFuelCut:
      return "fuel_cut";
    case ProtectionAction::kLimitSpeed:
      return "limit_speed";
    case ProtectionAction::kOutputOff:
      return "output_off";
    case ProtectionAction::kLamp:
      break;
  }
  return "lamp";
}

std::vector<std::string> Cells(const Limits& limits, const LimitResult& result) {
  const Protection& p = Of(limits, result);
  const auto value = [&](double v) { return ValueInWords(p, v); };
  return {p.name,
          Or(result.trips_at, value),
          Or(result.within_ms, [](double ms) { return fmt::format("{:.0f} ms", ms); }),
          Or(result.released_at, value),
          InWords(result.open),
          InWords(result.shorted)};
}

std::string Table(const Limits& limits) {
  std::vector<std::vector<std::string>> rows{
      {"limit", "trips at", "within", "released at", "with wire open", "with wire shorted"}};
  for (const LimitResult& result : limits.results) rows.push_back(Cells(limits, result));
  std::vector<int> widths(rows[0].size(), 0);
  for (const auto& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], Width(row[i]));
  }
  std::string text;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const Mark mark = r == 0 ? Mark{} : MarkOf(limits.results[r - 1].outcome());
    text += PadRight(r == 0 ? "verdict" : fmt::format("{} {}", mark.symbol, mark.word), 10);
    for (std::size_t i = 0; i < rows[r].size(); ++i) {
      const bool numbers = i >= 1 && i <= 3;
      const std::string cell = numbers                  ? PadLeft(rows[r][i], widths[i])
                               : i + 1 < rows[r].size() ? PadRight(rows[r][i], widths[i])
                                                        : rows[r][i];
      text += "  " + cell;
    }
    text += "\n";
  }
  return text;
}

std::string Paragraph(std::string head, std::string_view text, int columns) {
  std::string lines;
  const int indent = Width(head);
  for (const std::string& line : Wrap(text, columns - indent)) {
    lines += head + line + "\n";
    head.assign(AsSize(indent), ' ');
  }
  return lines;
}

std::string Sentences(const Limits& limits, int columns) {
  std::string text;
  int number = 0;
  for (const LimitResult& result : limits.results) {
    if (result.failures.empty() && result.not_shown.empty()) continue;
    const Protection& p = Of(limits, result);
    text += "\n" + Paragraph(fmt::format("{:>2}. ", ++number),
                             fmt::format("{}: {}.", p.name, InWords(*limits.bench, p)), columns);
    for (const std::string& why : result.failures) text += Paragraph("    ✗ ", why, columns);
    for (const std::string& why : result.not_shown) text += Paragraph("    ○ ", why, columns);
  }
  return text;
}

JsonValue ValueOf(const std::optional<double>& value) {
  return value ? JsonValue(*value) : JsonValue();
}

JsonValue BlindValue(const Blinded& blinded) {
  if (!blinded.tried) return JsonValue();
  JsonValue value{{"acts_while_good", blinded.acts_while_good},
                  {"acts_beyond", blinded.acts_beyond},
                  {"words", InWords(blinded)}};
  if (blinded.acts_while_good) value["after_s"] = blinded.after_s;
  return value;
}

JsonValue ResultValue(const Limits& limits, const LimitResult& result) {
  const Protection& p = Of(limits, result);
  return {{"name", p.name},
          {"label", p.label},
          {"watches", p.watches},
          {"unit", p.unit},
          {p.side == LimitSide::kAbove ? "above" : "below", p.limit},
          {"release", p.release},
          {"tolerance", p.tolerance},
          {"delay_ms", p.delay_ms},
          {"needs_above_rpm", p.needs_above_rpm},
          {"action", WordOf(p.action)},
          {"requirement", InWords(*limits.bench, p)},
          {"verdict", MarkOf(result.outcome()).key},
          {"engine_rpm", result.engine_rpm},
          {"trips_at", ValueOf(result.trips_at)},
          {"within_ms", ValueOf(result.within_ms)},
          {"within_allowed_ms", result.within_allowed_ms},
          {"released_at", ValueOf(result.released_at)},
          {"let_go_ms", ValueOf(result.let_go_ms)},
          {"limited_to_rpm", ValueOf(result.limited_to_rpm)},
          {"wire_open", BlindValue(result.open)},
          {"wire_shorted", BlindValue(result.shorted)},
          {"failures", result.failures},
          {"not_shown", result.not_shown}};
}

Markup Case(const Limits& limits, const LimitResult& result) {
  const Protection& p = Of(limits, result);
  const Attributes head = {{"classname", limits.bench->name}, {"name", p.name}, {"time", "0.000"}};
  const check::Outcome outcome = result.outcome();
  if (outcome == check::Outcome::kMet) return "    " + EmptyElement("testcase", head) + "\n";
  const bool failed = outcome == check::Outcome::kFailed;
  const std::string why = Join(failed ? result.failures : result.not_shown, " ");
  const Markup element = Element(failed ? "failure" : "error",
                                 {{"message", why}, {"type", failed ? "failed" : "not_shown"}},
                                 why + "\nrequired: " + InWords(*limits.bench, p) + "\n");
  return "    " + Element("testcase", head, "\n      " + element + "\n    ") + "\n";
}

std::size_t CountOf(const Limits& limits, check::Outcome outcome) {
  return AsSize(std::ranges::count_if(
      limits.results, [&](const LimitResult& r) { return r.outcome() == outcome; }));
}

}  // namespace

check::Outcome LimitResult::outcome() const {
  if (!failures.empty()) return check::Outcome::kFailed;
  return not_shown.empty() ? check::Outcome::kMet : check::Outcome::kNotObservable;
}

bool AnyFailed(const Limits& limits) { return CountOf(limits, check::Outcome::kFailed) > 0; }
bool AnyNotShown(const Limits& limits) {
  return limits.results.size() < limits.bench->protections.size() ||
         std::ranges::any_of(limits.results,
                             [](const LimitResult& r) { return !r.not_shown.empty(); });
}

std::string ValueInWords(const Protection& protection, double value) {
  return Quantity(value, protection.unit, DecimalsFor(protection.tolerance));
}

std::string InWords(const Blinded& blinded) {
  if (!blinded.tried) return std::string(kNoNumber);
  if (blinded.acts_while_good) return fmt::format("acts after {:.2f} s", blinded.after_s);
  return blinded.acts_beyond ? "acts as before" : "no longer acts";
}

std::string BlindSentence(const Limits& limits) {
  std::vector<std::string> blind;
  for (const LimitResult& result : limits.results) {
    const auto is_lost = [](const Blinded& b) {
      return b.tried && !b.acts_while_good && !b.acts_beyond;
    };
    if (is_lost(result.open) || is_lost(result.shorted)) {
      blind.push_back(Nth(limits.bench->protections, result.index).name);
    }
  }
  if (blind.empty()) return "";
  return fmt::format("With its sensor's wire broken nothing protects any more: {}.", Join(blind));
}

std::string LimitsSentence(const Limits& limits) {
  const std::size_t all = limits.bench->protections.size();
  const std::size_t failed = CountOf(limits, check::Outcome::kFailed);
  const std::size_t open = all - failed - CountOf(limits, check::Outcome::kMet);
  std::string text =
      fmt::format("{} of {} act as they should", all - failed - open, Counted(all, "protection"));
  if (failed > 0) text += fmt::format(", {} failed", failed);
  if (open > 0) text += fmt::format(", {} not shown", open);
  return text + ".";
}

std::string LimitsText(const Limits& limits, int columns) {
  std::string text =
      fmt::format("Limits of {}\nvirtual time, a stand-in for the controller, seed {}\n",
                  PlainLine(limits.bench->title), limits.seed);
  for (const std::string& fault : limits.faults) {
    text += Paragraph("fault put in: ", fault, columns);
  }
  text += "\n" + Table(limits) + Sentences(limits, columns) + "\n";
  const bool failed = AnyFailed(limits), open = AnyNotShown(limits);
  text += Paragraph(failed ? "✗ FAILED: " : open ? "○ " : "✓ ", LimitsSentence(limits), columns);
  const std::string blind = BlindSentence(limits);
  if (!blind.empty()) text += Paragraph("  ", blind, columns);
  return text +
         Paragraph("  ",
                   "Nothing real was judged: a stand-in played the controller. The limits of "
                   "the real one are tried on a bench as hw-notes/limits.md says, never on a "
                   "running engine.",
                   columns);
}

std::string LimitsJson(const Limits& limits) {
  JsonValue all{{"format", "drycrank limits"},
                {"format_version", kLimitsFormat},
                {"version", limits.version},
                {"bench", {{"name", limits.bench->name}, {"title", limits.bench->title}}},
                {"seed", limits.seed},
                {"controller_real", false},
                {"faults", limits.faults},
                {"verdict", LimitsSentence(limits)},
                {"limits", JsonValue::array()}};
  for (const LimitResult& result : limits.results) {
    all["limits"].push_back(ResultValue(limits, result));
  }
  all["cautions"] = Cautions();
  return all.dump(1, ' ', false, JsonValue::error_handler_t::replace) + "\n";
}

std::string LimitsJunit(const Limits& limits) {
  Markup suite = "\n";
  for (const LimitResult& result : limits.results) suite += Case(limits, result);
  const Attribute tests("tests", limits.results.size()),
      failures("failures", CountOf(limits, check::Outcome::kFailed)),
      errors("errors", CountOf(limits, check::Outcome::kNotObservable)), time("time", "0.000");
  const Markup one = Element(
      "testsuite",
      {{"name", "limits of " + limits.bench->name}, tests, failures, errors, time, {"skipped", 0}},
      suite + "  ");
  const Markup root = Element("testsuites", {{"name", "drycrank"}, tests, failures, errors, time},
                              "\n  " + one + "\n");
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + root.text() + "\n";
}

}  // namespace drycrank::report
