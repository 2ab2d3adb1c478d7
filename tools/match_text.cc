// SPDX-License-Identifier: Apache-2.0
#include "tools/match_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <nlohmann/json.hpp>
#include <string_view>

#include "report/text.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

constexpr int kColumns = 100;

using capture::MatchResult;
using capture::OutputMatch;
using capture::Role;
using capture::Says;
using capture::TriggerMatch;
using capture::Wiring;

const char* WiringInWords(Wiring wiring) {
  switch (wiring) {
    case Wiring::kAsDrawn:
      return "the way round as drawn";
    case Wiring::kReversed:
      return "the other way round than drawn";
    case Wiring::kCannotTell:
      return "which way round: cannot tell";
  }
  return "";
}

const char* WiringWord(Wiring wiring) {
  return wiring == Wiring::kAsDrawn    ? "as drawn"
         : wiring == Wiring::kReversed ? "reversed"
                                       : "cannot tell";
}

std::string Head(const std::string& path, const MatchResult& result) {
  const capture::ReadResult& capture = result.capture;
  std::string text = fmt::format("{}: {}, {:.3f} s", report::PlainLine(path), capture.format,
                                 (capture.to_ns - capture.from_ns) * 1e-9);
  if (capture.step_ns > 0) text += fmt::format(" at {:.4g} kHz", 1e6 / capture.step_ns);
  if (result.turns > 0)
    text += fmt::format("; {:.1f} turns at {:.0f} to {:.0f} r/min", result.turns, result.least_rpm,
                        result.most_rpm);
  if (result.samples_per_tooth > 0)
    text += fmt::format("; {:.1f} samples a tooth where they are fewest", result.samples_per_tooth);
  text += "\n";
  if (!capture.unused.empty())
    text += fmt::format("not used: {}\n", fmt::join(capture.unused, ", "));
  return text + "\n";
}

std::string TriggerLine(const profile::Bench& bench, const TriggerMatch& match) {
  if (!match.changes) return fmt::format("{}: never changes\n", match.name);
  const std::string wheel =
      match.wheel.empty()
          ? fmt::format("wheel of {} teeth", Nth(bench.triggers, match.trigger).wheel.teeth.size())
          : match.wheel;
  std::string text = fmt::format("{}: {} ({}), {}", match.name, wheel,
                                 match.is_as_built    ? "as built"
                                 : match.part.empty() ? "not as built"
                                                      : match.part,
                                 WiringInWords(match.wiring));
  if (match.late_deg)
    text += fmt::format(", {:+.2f}° ± {:.2f}°", *match.late_deg, match.uncertain_deg);
  return text + fmt::format("; {}\n", match.how);
}

std::string EdgeTable(const TriggerMatch& match) {
  if (match.edges.empty()) return "";
  std::string text = fmt::format("    {:<20} {:>9} {:>9} {:>9}\n", "edge", "due", "is", "off");
  for (const capture::EdgePlace& edge : match.edges) {
    if (edge.seen) {
      text += fmt::format("    {:<20} {:>8.2f}° {:>8.2f}° {:>+8.2f}°\n", edge.what, edge.due_deg,
                          edge.is_deg, edge.off_deg);
    } else {
      text += fmt::format("    {:<20} {:>8.2f}° {:>9} {:>9}\n", edge.what, edge.due_deg, "missing",
                          "—");
    }
  }
  return text;
}

std::string OutputTable(const std::vector<OutputMatch>& outputs) {
  if (outputs.empty()) return "";
  std::string text = fmt::format("\n{:<16} {:>8} {:>22} {:>10} {:>8} {:>20}\n", "output", "pulses",
                                 "ends", "off", "± each", "on, ms");
  for (const OutputMatch& o : outputs) {
    const std::string off = o.off_deg ? fmt::format("{:+.2f}°", *o.off_deg) : "—";
    const std::string ends =
        fmt::format("{:.2f}° {} {}", std::abs(o.before_deg), o.before_deg < 0 ? "after" : "before",
                    o.role == Role::kInjector ? "intake" : "firing");
    text += fmt::format(
        "{:<16} {:>8} {:>22} {:>10} {:>7.2f}° {:>20}\n", o.name, o.pulses, ends, off, o.spread_deg,
        fmt::format("{:.2f} ({:.2f} to {:.2f})", o.width_ms, o.least_width_ms, o.most_width_ms));
  }
  return text;
}

std::string Indented(std::string_view mark, const std::string& sentence) {
  std::string text;
  for (const std::string& line : report::Wrap(report::KeepUnits(sentence), kColumns)) {
    text += fmt::format("{} {}\n", text.empty() ? mark : " ", line);
  }
  return text;
}

std::string Sentences(const MatchResult& result) {
  std::string text = "\n";
  for (const auto& [says, mark] : std::initializer_list<std::pair<Says, const char*>>{
           {Says::kOff, "✗"}, {Says::kCannotTell, "○"}, {Says::kNote, "·"}}) {
    for (const capture::Finding& finding : result.findings) {
      if (finding.says != says) continue;
      const std::string why = says == Says::kCannotTell ? "cannot tell: " : "";
      text += Indented(mark, why + finding.text);
    }
  }
  const bool off = result.Any(Says::kOff), open = result.Any(Says::kCannotTell);
  text += off    ? "\n✗ OFF: see above.\n"
          : open ? "\n○ Nothing is off in what can be told.\n"
                 : "\n✓ In order.\n";
  return text;
}

nlohmann::ordered_json JsonOf(const TriggerMatch& match) {
  nlohmann::ordered_json json = {{"name", match.name},
                                 {"wheel", match.wheel},
                                 {"part", match.part},
                                 {"as_built", match.is_as_built},
                                 {"wiring", WiringWord(match.wiring)},
                                 {"edges_by", match.how},
                                 {"missing", match.missing},
                                 {"extra", match.extra},
                                 {"teeth_gone", match.gone_teeth}};
  json["late_deg"] =
      match.late_deg ? nlohmann::ordered_json(*match.late_deg) : nlohmann::ordered_json();
  json["uncertain_deg"] = match.uncertain_deg;
  json["edges"] = nlohmann::ordered_json::array();
  for (const capture::EdgePlace& edge : match.edges) {
    nlohmann::ordered_json one = {
        {"edge", edge.what}, {"due_deg", edge.due_deg}, {"seen", edge.seen}};
    if (edge.seen) one["is_deg"] = edge.is_deg;
    if (edge.seen) one["off_deg"] = edge.off_deg;
    json["edges"].push_back(std::move(one));
  }
  return json;
}

const char* KindOf(Role role) {
  if (role == Role::kTrailingCoil) return "trailing_coil";
  return role == Role::kCoil ? "coil" : "injector";
}

nlohmann::ordered_json JsonOf(const OutputMatch& output) {
  nlohmann::ordered_json json = {{"name", output.name},
                                 {"kind", KindOf(output.role)},
                                 {"cylinder", output.cylinder},
                                 {"pulses", output.pulses},
                                 {"per_cycle", output.per_cycle},
                                 {"end_deg", output.end_deg},
                                 {"before_deg", output.before_deg},
                                 {"spread_deg", output.spread_deg},
                                 {"on_ms", output.width_ms},
                                 {"place_of", output.fires_as},
                                 {"place_of_kind", KindOf(output.fires_as_role)},
                                 {"missing", output.missing},
                                 {"extra", output.extra}};
  json["off_deg"] =
      output.off_deg ? nlohmann::ordered_json(*output.off_deg) : nlohmann::ordered_json();
  return json;
}

}  // namespace

std::string MatchInWords(const profile::Bench& bench, const std::string& path,
                         const MatchResult& result) {
  std::string text = Head(path, result);
  for (const TriggerMatch& match : result.triggers)
    text += TriggerLine(bench, match) + EdgeTable(match);
  return text + OutputTable(result.outputs) + Sentences(result);
}

std::string MatchAsJson(const std::string& path, const MatchResult& result) {
  nlohmann::ordered_json json = {{"format", "drycrank match"},
                                 {"kind", "match"},
                                 {"format", kMatchFormat},
                                 {"capture", path},
                                 {"file_format", result.capture.format},
                                 {"turns", result.turns},
                                 {"least_rpm", result.least_rpm},
                                 {"most_rpm", result.most_rpm},
                                 {"samples_per_tooth", result.samples_per_tooth}};
  json["triggers"] = nlohmann::ordered_json::array();
  for (const TriggerMatch& match : result.triggers) json["triggers"].push_back(JsonOf(match));
  json["outputs"] = nlohmann::ordered_json::array();
  for (const OutputMatch& output : result.outputs) json["outputs"].push_back(JsonOf(output));
  json["findings"] = nlohmann::ordered_json::array();
  for (const capture::Finding& finding : result.findings) {
    const char* says = finding.says == Says::kOff          ? "off"
                       : finding.says == Says::kCannotTell ? "cannot tell"
                                                           : "note";
    json["findings"].push_back({{"says", says}, {"text", finding.text}});
  }
  return json.dump(1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

}  // namespace drycrank::tools
