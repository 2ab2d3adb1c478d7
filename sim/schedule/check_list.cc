// SPDX-License-Identifier: Apache-2.0
//
// Mistakes of the list itself, and names that the bench does not have.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>

#include "profile/wire_gauge.h"
#include "schedule/check_parts.h"
#include "schedule/columns.h"
#include "types/nth.h"
#include "yaml/nearest.h"

namespace drycrank::schedule {
namespace {

using enum FindingKind;

class ListCheck {
 public:
  explicit ListCheck(Check& check) : check_(check), wires_(check.schedule.wires) {}

  void Run() {
    Unreadable();
    NamesWrittenTwoWays();
    if (check_.in.bench != nullptr) UnknownNames();
    EndsWhereTheyBegin();
    WrittenTwice();
    UsedTwice();
    LoneSplices();
    CircuitsInPieces();
    Missing(kNoGauge, "gauge", "wires and contacts are chosen by it",
            [](const ScheduleWire& w) { return &w.gauge; });
    Missing(kNoLength, "length", "its voltage drop is worked out with 1 m",
            [](const ScheduleWire& w) { return w.length_m ? nullptr : &w.length; });
    ColoursTwice();
  }

 private:
  using Wires = std::vector<int>;

  int Count() const { return static_cast<int>(wires_.size()); }
  const ScheduleWire& Wire(int i) const { return check_.Wire(i); }

  void Unreadable() {
    for (const Diagnostic& problem : check_.in.unreadable) {
      check_.Add(kNotReadable, problem.place, problem.what, problem.remedy, {}, {});
    }
    for (const std::string& end : check_.schedule.unread_ends) check_.Doubt(end);
    for (int i = 0; i < Count(); ++i) {
      const std::string& gauge = Wire(i).gauge.text;
      if (gauge.empty() || Wire(i).IsFuse() || profile::FindWireGauge(gauge)) continue;
      check_.Add(kNotReadable, Wire(i).gauge.place,
                 fmt::format("{}: no resistance is known for gauge '{}'", Title(Wire(i)), gauge),
                 std::string(profile::kWireGauges), {i}, {});
    }
  }

  // Letters and digits alone tell names apart: "S_GND" and "s-gnd" are one to a fitter.
  void NamesWrittenTwoWays() {
    std::map<std::string, std::string> first;
    for (int i = 0; i < Count(); ++i) {
      for (const Cell* end : {&Wire(i).from, &Wire(i).to}) {
        const bool is_plug = IsTerminal(end->text);
        if (is_plug && check_.in.bench != nullptr) continue;  // an unknown connector then
        const std::string name(is_plug ? ConnectorOf(end->text) : std::string_view(end->text));
        std::string key = Plain(name);
        std::erase(key, ' ');
        key += is_plug ? '.' : ' ';
        const auto [at, is_new] = first.emplace(key, name);
        if (is_new || at->second == name || !told_names_.insert(name).second) continue;
        check_.Add(kNameWrittenTwoWays, end->place,
                   fmt::format("{} '{}' is written '{}' elsewhere",
                               is_plug ? "connector" : "splice", name, at->second),
                   fmt::format("write '{}' everywhere, if they are one", at->second), {i},
                   {end->text});
        check_.Doubt(end->text);
        if (!is_plug) check_.Doubt(at->second);
        if (is_plug) check_.doubtful_plugs.insert(at->second);
      }
    }
  }

  void UnknownNames() {
    std::map<std::string, Wires> plugs, splices;
    for (int i = 0; i < Count(); ++i) {
      for (const Cell* end : {&Wire(i).from, &Wire(i).to}) {
        if (!IsTerminal(end->text)) {
          if (!Has(check_.schedule.splices, end->text)) splices[end->text].push_back(i);
          continue;
        }
        const int at = profile::IndexOf(check_.in.bench->connectors, ConnectorOf(end->text));
        if (at < 0) {
          plugs[std::string(ConnectorOf(end->text))].push_back(i);
        } else {
          CheckPin(i, *end, Nth(check_.in.bench->connectors, at));
        }
      }
    }
    for (const auto& [name, wires] : plugs) Unknown(kUnknownConnector, "connector", name, wires);
    for (const auto& [name, wires] : splices) Unknown(kUnknownSplice, "splice", name, wires);
  }

  static bool Has(const std::vector<std::string>& list, std::string_view name) {
    return std::find(list.begin(), list.end(), name) != list.end();
  }

  void CheckPin(int i, const Cell& end, const profile::Connector& connector) {
    if (Has(connector.pins, PinOf(end.text))) return;
    check_.Add(kUnknownPin, end.place,
               fmt::format("connector {} has no pin {}", connector.name, PinOf(end.text)),
               fmt::format("its pins: {}", Listed(connector.pins)), {i}, {end.text});
    check_.Doubt(end.text);
    check_.Doubt(OtherEnd(i, end.text));
  }

  const std::string& OtherEnd(int i, const std::string& end) const {
    return Wire(i).from.text == end ? Wire(i).to.text : Wire(i).from.text;
  }

  void Unknown(FindingKind kind, const char* what, const std::string& name, const Wires& wires) {
    std::vector<std::string> known = check_.schedule.splices;
    if (kind == kUnknownConnector) {
      known.clear();
      for (const auto& connector : check_.in.bench->connectors) known.push_back(connector.name);
    }
    const ScheduleWire& wire = Wire(wires.front());
    const bool at_from =
        kind == kUnknownSplice ? wire.from.text == name : ConnectorOf(wire.from.text) == name;
    check_.Add(kind, at_from ? wire.from.place : wire.to.place,
               fmt::format("the bench has no {} '{}', which {} wire{} here", what, name,
                           wires.size(), wires.size() == 1 ? " has" : "s have"),
               yaml::Suggest(name, known), wires, {name});
    for (const int i : wires) {
      check_.Doubt(Wire(i).from.text);
      check_.Doubt(Wire(i).to.text);
    }
    for (const std::string& near : Near(name, known)) {
      if (kind == kUnknownConnector) check_.doubtful_plugs.insert(near);
      if (kind == kUnknownSplice) check_.Doubt(near);
    }
  }

  // The nearest names, within two edits: one of them may have been meant.
  static std::vector<std::string> Near(const std::string& name,
                                       const std::vector<std::string>& known) {
    std::vector<std::string> near;
    int least = 2;
    for (const std::string& other : known) {
      const int distance = yaml::EditDistance(name, other);
      if (other == name || distance > least) continue;
      if (distance < least) near.clear();
      least = distance;
      near.push_back(other);
    }
    return near;
  }

  void EndsWhereTheyBegin() {
    for (int i = 0; i < Count(); ++i) {
      const std::string& end = Wire(i).from.text;
      if (end != Wire(i).to.text) continue;
      check_.Add(kEndsWhereItBegins, Wire(i).to.place,
                 fmt::format("the wire of circuit {} ends where it begins, at {}",
                             Wire(i).circuit.text, end),
                 "write its other end", {i}, {end});
      check_.Doubt(end);
    }
  }

  void WrittenTwice() {
    std::map<std::pair<std::string, std::string>, int> first;
    for (int i = 0; i < Count(); ++i) {
      auto ends = std::pair(Wire(i).from.text, Wire(i).to.text);
      if (ends.first > ends.second) std::swap(ends.first, ends.second);
      const bool counts =
          ends.first != ends.second && (IsTerminal(ends.first) || IsTerminal(ends.second));
      if (!counts) continue;
      const auto [at, is_new] = first.emplace(ends, i);
      if (is_new) continue;
      again_.insert(i);
      check_.Add(kWireWrittenTwice, Wire(i).place,
                 fmt::format("the wire from {} to {} is already in line {}", Wire(i).from.text,
                             Wire(i).to.text, Wire(at->second).place.line),
                 "keep one of the lines", {at->second, i}, {ends.first, ends.second});
    }
  }

  void UsedTwice() {
    std::map<std::string, Wires> at;
    for (int i = 0; i < Count(); ++i) {
      if (again_.contains(i) || Wire(i).from.text == Wire(i).to.text) continue;
      if (Wire(i).IsFuse()) continue;  // behind the pins
      for (const Cell* end : {&Wire(i).from, &Wire(i).to}) {
        if (IsTerminal(end->text)) at[end->text].push_back(i);
      }
    }
    for (const auto& [terminal, wires] : at) {
      if (wires.size() < (check_.IsInLine(ConnectorOf(terminal)) ? 3 : 2)) continue;
      std::vector<std::string> circuits;
      for (const int i : wires) circuits.push_back(Wire(i).circuit.text);
      const ScheduleWire& second = Wire(wires[1]);
      check_.Add(kTerminalUsedTwice,
                 second.from.text == terminal ? second.from.place : second.to.place,
                 fmt::format("terminal {} has {} wires: {}; the first is in line {}", terminal,
                             wires.size(), Listed(circuits), Wire(wires[0]).place.line),
                 "a terminal takes one; give the other its own pin, or join them in a splice",
                 wires, {terminal});
      check_.Doubt(terminal);
    }
  }

  void LoneSplices() {
    for (const std::string& splice : check_.schedule.splices) {
      const Wires& wires = check_.nets.WiresAt(splice);
      if (wires.size() > 1 || told_names_.contains(splice)) continue;
      if (wires.empty()) {
        check_.Add(kSpliceWithoutWire, {check_.schedule.file, 0, 0},
                   fmt::format("no wire goes to splice {}", splice), "leave it out", {}, {splice});
        continue;
      }
      const auto near = Near(splice, check_.schedule.splices);
      std::string remedy = "name its other wires, or put this one where it belongs";
      if (!near.empty()) remedy = fmt::format("did you mean '{}'? Else {}", near.front(), remedy);
      check_.Add(
          kSpliceWithOneWire, check_.PlaceAt(splice, {}),
          fmt::format("splice {} has one wire, of circuit {}", splice, Wire(wires[0]).circuit.text),
          remedy, wires, {splice});
      check_.Doubt(splice);
      for (const std::string& other : near) check_.Doubt(other);
    }
  }

  void CircuitsInPieces() {
    std::map<std::string, Wires> by_circuit;
    for (int i = 0; i < Count(); ++i) {
      if (Wire(i).from.text != Wire(i).to.text) by_circuit[Wire(i).circuit.text].push_back(i);
    }
    for (const auto& [circuit, wires] : by_circuit) {
      const int net = check_.nets.Of(Wire(wires[0]).from.text);
      const auto other = std::find_if(wires.begin(), wires.end(), [&](int i) {
        return check_.nets.Of(Wire(i).from.text) != net;
      });
      if (other == wires.end()) continue;
      if (check_.Follows(Wire(*other).from.text) || check_.Follows(Wire(wires[0]).from.text)) {
        ++check_.result.consequences;
        continue;
      }
      check_.Add(
          kCircuitInPieces, Wire(*other).circuit.place,
          fmt::format(
              "circuit {} names two wires that are not connected: this one and the one in line {}",
              circuit, Wire(wires[0]).place.line),
          "give each its own name; a fault is named after its circuit", wires, {});
    }
  }

  // `cell` of a wire is null when it is there.
  template <class CellOf>
  void Missing(FindingKind kind, const char* what, const char* why, CellOf cell_of) {
    Wires missing;
    for (int i = 0; i < Count(); ++i) {
      if (Wire(i).IsFuse()) continue;
      const Cell* cell = cell_of(Wire(i));
      const bool is_missing = cell != nullptr && cell->text.empty();
      if (is_missing && !WasUnreadable(cell->place)) missing.push_back(i);
    }
    if (missing.size() > 1 && static_cast<int>(missing.size()) == Count()) {
      check_.Add(kind, Wire(missing[0]).place, fmt::format("no wire has a {}", what), why, {}, {});
      return;
    }
    for (const int i : missing) {
      const Place& place = cell_of(Wire(i))->place;
      check_.Add(kind, place, fmt::format("{} has no {}", Title(Wire(i)), what), why, {i}, {});
    }
  }

  bool WasUnreadable(const Place& place) const {
    return std::any_of(check_.in.unreadable.begin(), check_.in.unreadable.end(),
                       [&](const Diagnostic& problem) { return problem.place == place; });
  }

  void ColoursTwice() {
    std::map<std::pair<std::string, std::string>, Wires> at;  // connector, colour
    for (int i = 0; i < Count(); ++i) {
      const std::string colour = Plain(Wire(i).colour.text);
      if (colour.empty()) continue;
      for (const Cell* end : {&Wire(i).from, &Wire(i).to}) {
        if (IsTerminal(end->text)) at[{std::string(ConnectorOf(end->text)), colour}].push_back(i);
      }
    }
    for (const auto& [key, wires] : at) {
      const int net = check_.nets.Of(Wire(wires[0]).from.text);
      const bool differ = std::any_of(wires.begin(), wires.end(), [&](int i) {
        return check_.nets.Of(Wire(i).from.text) != net;
      });
      if (!differ) continue;
      std::vector<std::string> circuits;
      for (const int i : wires) circuits.push_back(Wire(i).circuit.text);
      check_.Add(kColourTwice, Wire(wires[1]).colour.place,
                 fmt::format("connector {} has {} {} wires: {}", key.first, wires.size(),
                             Wire(wires[0]).colour.text, Listed(circuits)),
                 "mark them, so that nobody swaps them", wires, {});
    }
  }

  Check& check_;
  const std::vector<ScheduleWire>& wires_;
  std::set<std::string> told_names_;
  std::set<int> again_;  // written twice
};

}  // namespace

void CheckList(Check& check) { ListCheck(check).Run(); }

}  // namespace drycrank::schedule
