// SPDX-License-Identifier: Apache-2.0
#include "schedule/check.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <tuple>

#include "schedule/check_parts.h"

namespace drycrank::schedule {

void Check::Add(FindingKind kind, Place place, std::string what, std::string remedy,
                const std::vector<int>& wires, std::vector<std::string> ends) {
  Finding finding{kind, std::move(place), std::move(what), std::move(remedy), {}, std::move(ends)};
  for (const int wire : wires) {
    const std::string& circuit = Wire(wire).circuit.text;
    auto& circuits = finding.circuits;
    if (std::find(circuits.begin(), circuits.end(), circuit) == circuits.end()) {
      circuits.push_back(circuit);
    }
    if (finding.is_error()) told_circuits.insert(circuit);
  }
  if (finding.is_error()) told_ends.insert(finding.ends.begin(), finding.ends.end());
  result.findings.push_back(std::move(finding));
}

void Check::Say(FindingKind kind, const std::string& end, const Place& otherwise, std::string what,
                std::string remedy, const std::vector<std::string>& all) {
  if (!Follows(end)) {
    Add(kind, PlaceAt(end, otherwise), std::move(what), std::move(remedy), WiresAt(all), {end});
    return;
  }
  ++result.consequences;
  for (const int wire : WiresAt(all)) told_circuits.insert(Wire(wire).circuit.text);
}

std::vector<int> Check::WiresAt(const std::vector<std::string>& ends) const {
  std::vector<int> wires;
  for (const std::string& end : ends) {
    const auto& at = nets.WiresAt(end);
    wires.insert(wires.end(), at.begin(), at.end());
  }
  return wires;
}

Place Check::PlaceAt(const std::string& end, const Place& otherwise) const {
  const std::vector<int>& wires = nets.WiresAt(end);
  if (wires.empty()) return otherwise;
  const ScheduleWire& wire = Wire(wires.front());
  return wire.from.text == end ? wire.from.place : wire.to.place;
}

bool Check::IsInLine(std::string_view plug) const {
  for (const auto* plugs : {in.bench == nullptr ? nullptr : &in.bench->connectors,
                            &schedule.connectors}) {
    const int at = plugs == nullptr ? -1 : profile::IndexOf(*plugs, plug);
    if (at >= 0) return Nth(*plugs, at).in_line;
  }
  return false;
}

void Check::Doubt(const std::string& end) {
  if (const int net = nets.Of(end); net >= 0) doubtful_nets.insert(net);
  if (IsTerminal(end)) doubtful_plugs.emplace(ConnectorOf(end));
}

bool Check::Follows(const std::string& end) const {
  const int net = nets.Of(end);
  if (net >= 0) return doubtful_nets.contains(net);
  return doubtful_plugs.contains(std::string(ConnectorOf(end)));
}

std::string Title(const ScheduleWire& wire) {
  return fmt::format("circuit {} ({} to {})", wire.circuit.text, wire.from.text, wire.to.text);
}

std::string Listed(std::vector<std::string> parts) {
  constexpr std::size_t kMost = 8;
  if (parts.size() > kMost) {
    const std::size_t more = parts.size() - kMost + 1;
    parts.resize(kMost - 1);
    parts.push_back(fmt::format("{} more", more));
  }
  std::string text;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i > 0) text += i + 1 == parts.size() ? " and " : ", ";
    text += parts[i];
  }
  return text;
}

profile::Bench SoundBench(const Check& check) {
  Schedule sound = check.schedule;
  std::erase_if(sound.wires, [&](const ScheduleWire& wire) {
    return check.broken_nets.contains(check.nets.Of(wire.from.text));
  });
  return BenchWith(*check.in.bench, sound);
}

const profile::Wire* Made(const profile::Bench& sound, const ScheduleWire& wire) {
  for (const profile::Wire& made : sound.wires) {
    if (made.place == wire.place && made.from == wire.from.text && made.to == wire.to.text) {
      return &made;
    }
  }
  return nullptr;
}

CheckResult CheckSchedule(const CheckInput& input) {
  Check check(input);
  CheckList(check);
  CheckPairs(check);
  if (input.bench != nullptr) {
    CheckSources(check);
    CheckDevices(check);
    CheckCurrents(check);
    CheckFuses(check);
    CheckGrounds(check);
    CheckProof(check);
  }
  auto& findings = check.result.findings;
  std::stable_sort(findings.begin(), findings.end(), [](const Finding& a, const Finding& b) {
    return std::tie(a.place.file, a.place.line, a.place.column) <
           std::tie(b.place.file, b.place.line, b.place.column);
  });
  return std::move(check.result);
}

std::string FindingsText(const CheckResult& result) {
  std::string text;
  int errors = 0, notes = 0;
  for (const Finding& finding : result.findings) {
    (finding.is_error() ? errors : notes)++;
    Diagnostic line{finding.place,
                    fmt::format("{}: {}", finding.is_error() ? "error" : "note", finding.what),
                    finding.remedy};
    text += fmt::format("{}  [{}]\n", Format(line), DescribeKind(finding.kind).word);
  }
  const auto counted = [](int count, const char* word) {
    return fmt::format("{} {}{}", count, word, count == 1 ? "" : "s");
  };
  if (errors + notes == 0)
    text +=
        "Nothing found on paper. Before power is put on: continuity and shorts with the meter, "
        "fuses "
        "in.\n";
  if (errors + notes > 0) {
    text += fmt::format("{}, {}.\n", counted(errors, "error"), counted(notes, "note"));
  }
  if (result.consequences > 0) {
    text += fmt::format("{} more may only follow from these; mend them, then check again.\n",
                        result.consequences);
  }
  return text;
}

std::string FindingsJson(const std::string& file, const CheckResult& result) {
  nlohmann::ordered_json json;
  json["format"] = "drycrank schedule check";
  json["format_version"] = 1;
  json["file"] = file;
  json["errors"] = std::count_if(result.findings.begin(), result.findings.end(),
                                 [](const Finding& f) { return f.is_error(); });
  json["notes"] = std::count_if(result.findings.begin(), result.findings.end(),
                                [](const Finding& f) { return !f.is_error(); });
  json["consequences"] = result.consequences;
  json["findings"] = nlohmann::ordered_json::array();
  for (const Finding& f : result.findings) {
    json["findings"].push_back({{"kind", DescribeKind(f.kind).word},
                                {"severity", f.is_error() ? "error" : "note"},
                                {"file", f.place.file},
                                {"line", f.place.line},
                                {"column", f.place.column},
                                {"what", f.what},
                                {"remedy", f.remedy},
                                {"circuits", f.circuits},
                                {"ends", f.ends}});
  }
  return json.dump(1) + "\n";
}

}  // namespace drycrank::schedule
