// SPDX-License-Identifier: Apache-2.0
//
// Connectors, splices, wires, supplies and loads.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>

#include "profile/keys_harness.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "profile/wire_gauge.h"
#include "types/limits.h"
#include "types/nth.h"
#include "yaml/nearest.h"

namespace drycrank::profile {
namespace {

// Connectors, pins and splices: letters, digits, _ and -.
bool IsPlug(std::string_view text) {
  return !text.empty() && text.size() <= kMaxNameLength &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                  c == '_' || c == '-';
         });
}

void ReadPins(Reader& r, Connector& connector) {
  const Node* node = r.Find("pins");
  if (node == nullptr) return;
  if (node->kind != NodeKind::kList) {
    const auto count = ReadInt(r.problems(), *node, "'pins'", 1, kMaxPins);
    for (std::int64_t i = 1; count && i <= *count; ++i) connector.pins.push_back(std::to_string(i));
    return;
  }
  for (const Ref& pin : r.GetRefs("pins")) {
    if (!IsPlug(pin.text)) {
      r.problems().Add(pin.place, fmt::format("'{}' is not a pin", pin.text),
                       "letters, digits, _ and -");
    }
    connector.pins.push_back(pin.text);
  }
  if (connector.pins.empty() || connector.pins.size() > kMaxPins) {
    r.Complain("pins", fmt::format("{} pins", connector.pins.size()),
               fmt::format("1 to {} is possible", kMaxPins));
  }
}

// Which wires have which terminal already.
using WireEnds = std::map<std::string, std::vector<std::string>>;

void TakeWireEnd(BenchContext& c, const Ref& ref, const Wire& wire, WireEnds& ends) {
  std::vector<std::string>& there = ends[ref.text];
  const bool in_line = IsInLine(c.bench, ref.text);
  if (there.size() >= (in_line ? 2 : 1)) {
    c.problems.Add(ref.place,
                   fmt::format("terminal '{}' has {} already, in {}", ref.text,
                               in_line ? "two wires" : "a wire", fmt::join(there, " and ")),
                   in_line ? "a pin has one wire on either side; join wires in a splice"
                           : "a terminal has one wire; join wires in a splice, or write 'in_line: "
                             "true' at a plug between two pieces of harness");
  }
  there.push_back(fmt::format("line {} ({})", wire.place.line, wire.circuit));
}

std::string ReadWireEnd(BenchContext& c, Reader& r, std::string_view key, const Wire& wire,
                        WireEnds& ends) {
  const auto ref = r.GetRef(key);
  if (ref && c.wires_as_drawn) return ref->text;
  if (!ref || !CheckWireEnd(c, *ref)) return ref ? ref->text : std::string();
  if (ref->text.find('.') != std::string::npos) TakeWireEnd(c, *ref, wire, ends);
  return ref->text;
}

void ReadGauge(BenchContext& c, Reader& r, Wire& wire) {
  wire.has_gauge = r.GetText("gauge", &wire.gauge);
  if (!wire.has_gauge) return;
  const auto data = FindWireGauge(wire.gauge);
  if (data) {
    wire.area_mm2 = data->area_mm2;
    wire.mohm_per_m = data->mohm_per_m;
  } else if (!c.wires_as_drawn) {
    r.Complain("gauge", fmt::format("no resistance is known for gauge '{}'", wire.gauge),
               fmt::format("{}; or its mohm_per_m", kWireGauges));
  }
}

Wire ReadWire(BenchContext& c, const Node& node, WireEnds& ends) {
  Wire wire;
  wire.place = node.Where();
  const Node* circuit = node.Find("circuit");
  Reader r(c.problems, node,
           circuit == nullptr ? "wire" : fmt::format("wire of circuit '{}'", circuit->text));
  TableReader t(r, kWireKeys, wire);
  t.Take("circuit");
  wire.from = ReadWireEnd(c, r, "from", wire, ends);
  wire.to = ReadWireEnd(c, r, "to", wire, ends);
  if (!wire.from.empty() && wire.from == wire.to && !c.wires_as_drawn) {
    r.Complain("to", fmt::format("the wire ends where it begins, at '{}'", wire.from),
               "name its other end");
  }
  wire.has_length = t.Take("length_m");
  wire.gauge = "0.5 mm2";
  ReadGauge(c, r, wire);
  t.TakeRest();
  return wire;
}

}  // namespace

bool CheckWireEnd(BenchContext& c, const Ref& ref) {
  const auto& splices = c.bench.splices;
  if (std::find(splices.begin(), splices.end(), ref.text) != splices.end()) return true;
  if (ref.text.find('.') != std::string::npos) return CheckTerminal(c.problems, c.bench, ref);
  c.problems.AddReference(ref.place, fmt::format("there is no splice '{}'", ref.text),
                          yaml::Suggest(ref.text, splices, "a terminal is written CONNECTOR.PIN"));
  return false;
}

bool IsInLine(const Bench& bench, const std::string& terminal) {
  const int at = IndexOf(bench.connectors, terminal.substr(0, terminal.find('.')));
  return at >= 0 && Nth(bench.connectors, at).in_line;
}

bool CheckTerminal(Problems& problems, const Bench& bench, const Ref& ref) {
  const auto dot = ref.text.find('.');
  if (dot == std::string::npos) {
    problems.Add(ref.place, fmt::format("'{}' is not a terminal", ref.text),
                 "write CONNECTOR.PIN, as CLT.1");
    return false;
  }
  const int at = Resolve(problems, {ref.text.substr(0, dot), ref.place}, NamesOf(bench.connectors),
                         "connector");
  if (at < 0) return false;
  const Connector& connector = Nth(bench.connectors, at);
  const std::string pin = ref.text.substr(dot + 1);
  if (std::find(connector.pins.begin(), connector.pins.end(), pin) != connector.pins.end()) {
    return true;
  }
  std::string pins = connector.pins.empty() ? "none" : connector.pins.front();
  if (connector.pins.size() > 12) {
    pins += " to " + connector.pins.back();
  } else {
    for (std::size_t i = 1; i < connector.pins.size(); ++i) pins += ", " + connector.pins[i];
  }
  problems.AddReference(ref.place,
                        fmt::format("connector '{}' has no pin '{}'", connector.name, pin),
                        "its pins: " + pins);
  return false;
}

std::string FindTerminal(BenchContext& c, Reader& r, std::string_view key) {
  if (!r.Require(key, fmt::format("{}: CLT.1", key))) return {};
  const auto ref = r.GetRef(key);
  if (ref) CheckTerminal(c.problems, c.bench, *ref);
  return ref ? ref->text : std::string();
}

void TakeTerminal(BenchContext& c, const Ref& ref, const std::string& title) {
  if (!CheckTerminal(c.problems, c.bench, ref)) return;
  if (IsInLine(c.bench, ref.text)) {
    c.problems.Add(ref.place,
                   fmt::format("terminal '{}' is one of a plug between two wires", ref.text),
                   "name a pin at which a device sits, or take 'in_line' away from its connector");
  }
  const auto [user, is_free] = c.users.emplace(ref.text, title);
  if (is_free || (!c.shares_with.empty() && user->second == c.shares_with)) return;
  c.problems.Add(ref.place,
                 fmt::format("terminal '{}' belongs to {} already", ref.text, user->second),
                 "a terminal belongs to one device, once");
}

std::string TakeTerminal(BenchContext& c, Reader& r, std::string_view key) {
  if (!r.Require(key, fmt::format("{}: CLT.1", key))) return {};
  const auto ref = r.GetRef(key);
  if (ref) TakeTerminal(c, *ref, r.title());
  return ref ? ref->text : std::string();
}

void LoadConnectors(BenchContext& c, const Node* node) {
  if (node == nullptr) return;
  if (node->kind != NodeKind::kMap) {
    c.problems.Add(node->Where(), std::string("'connectors' is ") + KindName(*node),
                   "write names with their data, as 'CLT: {pins: 2}'");
    return;
  }
  for (const Entry& entry : node->entries) {
    Connector connector;
    connector.name = entry.key;
    connector.label = entry.key;
    connector.place = entry.key_spot.Where();
    if (!IsPlug(entry.key)) {
      c.problems.Add(connector.place, fmt::format("'{}' is not a name of a connector", entry.key),
                     "letters, digits, _ and -");
    }
    Reader r(c.problems, entry.value, fmt::format("connector '{}'", entry.key), connector.place);
    TakeAll(r, kConnectorKeys, connector);
    ReadPins(r, connector);
    c.bench.connectors.push_back(std::move(connector));
  }
}

void LoadSplices(BenchContext& c, const Node* node) {
  EachItem(c.problems, node, "'splices'", [&](const Node& item) {
    const auto ref = ReadRef(c.problems, item, "an entry of 'splices'");
    if (!ref) return;
    auto& splices = c.bench.splices;
    if (!IsPlug(ref->text)) {
      c.problems.Add(ref->place, fmt::format("'{}' is not a name of a splice", ref->text),
                     "letters, digits, _ and -");
    } else if (std::find(splices.begin(), splices.end(), ref->text) != splices.end()) {
      c.problems.Add(ref->place, fmt::format("splice '{}' is named twice", ref->text), "keep one");
    }
    splices.push_back(ref->text);
  });
}

void LoadWires(BenchContext& c, const Node* node) {
  WireEnds ends;
  EachItem(c.problems, node, "'wires'",
           [&](const Node& item) { c.bench.wires.push_back(ReadWire(c, item, ends)); });
  const std::size_t circuits = CircuitNames(c.bench).size();
  if (circuits > kMaxCircuits) {
    c.problems.Add(node->Where(), fmt::format("{} circuits", circuits),
                   fmt::format("at most {}", kMaxCircuits));
  }
}

void LoadSupplies(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'supplies'",
            [&](const std::string& name, const Place& place, const Node& data) {
              Supply supply;
              supply.name = name;
              Reader r(c.problems, data, fmt::format("supply '{}'", name), place);
              TakeAll(r, kSupplyKeys, supply, &c);
              c.bench.supplies.push_back(std::move(supply));
            });
}

void LoadLoads(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'loads'",
            [&](const std::string& name, const Place& place, const Node& data) {
              Load load;
              load.name = name;
              Reader r(c.problems, data, fmt::format("load '{}'", name), place);
              TakeAll(r, kLoadKeys, load, &c);
              if (load.inrush_ms > 0 && load.inrush_a == 0) {
                r.Complain("inrush_ms", "a time of an inrush of no amperes",
                           "its current: inrush_a: 30 A; or no inrush_ms");
              }
              c.bench.loads.push_back(std::move(load));
            });
}

}  // namespace drycrank::profile
