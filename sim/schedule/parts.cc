// SPDX-License-Identifier: Apache-2.0
#include "schedule/parts.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <map>
#include <set>

#include "types/nth.h"

namespace drycrank::schedule {
namespace {

constexpr double kFuseV = 0.075;  // at its rating; common practice, no source
constexpr double kMostA = 500;
constexpr int kNamed = 100'000;  // more than any plug has pins

std::vector<std::string> Tokens(const std::string& text) {
  std::vector<std::string> tokens(1);
  for (const char c : text) {
    if (c == ' ' || c == '/' || c == ':' || c == ';' || c == '(' || c == ')') {
      tokens.emplace_back();
    } else {
      tokens.back() += c;
    }
  }
  std::erase_if(tokens, [](const std::string& t) { return t.empty() || t == "-"; });
  return tokens;
}

// "10", "7,5A": amperes; nothing for another word.
std::optional<double> Amperes(std::string token) {
  if (!token.empty() && (token.back() == 'A' || token.back() == 'a')) token.pop_back();
  std::ranges::replace(token, ',', '.');
  char* end = nullptr;
  const double value = std::strtod(token.c_str(), &end);
  const bool whole = !token.empty() && *end == '\0' &&
                     std::isdigit(static_cast<unsigned char>(token.front())) != 0;
  return whole ? std::optional(value) : std::nullopt;
}

bool IsFeedName(std::string_view pin) {
  std::string upper;
  for (const char c : pin) upper += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  static constexpr std::string_view kNames[] = {"30", "B", "BPLUS", "BAT", "BATT", "FEED", "IN",
                                                "INPUT", "SUPPLY", "MAIN", "PLUS"};
  return std::ranges::count(kNames, upper) > 0;
}

class Finder {
 public:
  explicit Finder(Imported& imported)
      : imported_(imported), schedule_(imported.schedule) {}

  void Find() {
    InLinePlugs();
    Relays();
    Fuses();
  }

 private:
  void Note(const Place& place, std::string what) {
    imported_.notes.push_back({place, std::move(what), {}});
  }
  Place FileAt(int line) const { return {schedule_.file, line, 1}; }

  std::map<std::string, int> WiresAt() const {
    std::map<std::string, int> at;
    for (const ScheduleWire& wire : schedule_.wires) {
      ++at[wire.from.text];
      ++at[wire.to.text];
    }
    return at;
  }

  void InLinePlugs() {
    const std::map<std::string, int> at = WiresAt();
    for (profile::Connector& plug : schedule_.connectors) {
      int two = 0;
      bool crowded = false;
      for (const std::string& pin : plug.pins) {
        const int wires = at.at(plug.name + "." + pin);
        two += wires == 2;
        crowded = crowded || wires > 2;
      }
      plug.in_line =
          !crowded && plug.pins.size() > 1 && 2 * two > static_cast<int>(plug.pins.size());
      if (!plug.in_line) continue;
      Note(FileAt(imported_.heading_line),
           fmt::format("{} has two wires at {} of {} pins: taken for a plug between two pieces of "
                       "harness",
                       plug.name, two, plug.pins.size()));
    }
  }

  void Relays() {
    for (const profile::Connector& plug : schedule_.connectors) {
      std::set<std::string> pins(plug.pins.begin(), plug.pins.end());
      const std::string closed = pins.contains("87a") ? "87a" : "87A";
      const bool has_closed = pins.erase(closed) > 0;
      if (pins != std::set<std::string>{"30", "85", "86", "87"}) continue;
      profile::Relay& relay = schedule_.relays.emplace_back();
      relay.name = CircuitName("relay_" + plug.name);
      relay.coil_plus = plug.name + ".86";
      relay.coil_minus = plug.name + ".85";
      relay.common = plug.name + ".30";
      relay.normally_open = plug.name + ".87";
      if (has_closed) relay.normally_closed = plug.name + "." + closed;
      Note(FileAt(imported_.heading_line),
           fmt::format("{} has the pins of a relay: taken for one, {}", plug.name, relay.name));
    }
  }

  // ---- fuses

  struct Line {
    const ScheduleWire* wire = nullptr;
    FuseCell fuse;
  };

  void Fuses() {
    std::vector<Line> lines;
    for (const ScheduleWire& wire : schedule_.wires) {
      if (wire.fuse.text.empty()) continue;
      auto read = ReadFuse(wire.fuse.text);
      if (read.value) {
        lines.push_back({&wire, *read.value});
      } else {
        imported_.problems.push_back({wire.fuse.place, read.what, read.remedy});
      }
    }
    std::vector<ScheduleWire> fuses;
    const std::map<std::string, int> boxes = BoxesOf(lines);
    for (const Line& line : lines) AddFuse(line, boxes, fuses);
    schedule_.wires.insert(schedule_.wires.end(), fuses.begin(), fuses.end());
  }

  // Plugs that may be boxes, the likelier the higher: a name that says so, or several pins with a fuse.
  std::map<std::string, int> BoxesOf(const std::vector<Line>& lines) const {
    std::map<std::string, std::set<std::string>> pins;
    for (const Line& line : lines) {
      for (const Cell* end : {&line.wire->from, &line.wire->to}) {
        if (IsTerminal(end->text)) pins[std::string(ConnectorOf(end->text))].insert(end->text);
      }
    }
    std::map<std::string, int> boxes;
    for (const auto& [plug, fused] : pins) {
      const std::string plain = Plain(plug);
      const bool named = plain.find("fuse") != std::string::npos ||
                         plain.find("sicherung") != std::string::npos ||
                         plain.find("box") != std::string::npos || plain.starts_with("fb");
      if (IsRelay(plug) || IsInLine(plug) || (!named && fused.size() < 2)) continue;
      boxes[plug] = static_cast<int>(fused.size()) + (named ? kNamed : 0);
    }
    return boxes;
  }
  bool IsRelay(const std::string& plug) const {
    return std::ranges::any_of(schedule_.relays, [&](const profile::Relay& relay) {
      return ConnectorOf(relay.common) == plug;
    });
  }
  bool IsInLine(const std::string& plug) const {
    const int at = profile::IndexOf(schedule_.connectors, plug);
    return at >= 0 && Nth(schedule_.connectors, at).in_line;
  }

  void AddFuse(const Line& line, const std::map<std::string, int>& boxes,
               std::vector<ScheduleWire>& fuses) {
    const std::string end = BoxEnd(*line.wire, boxes);
    if (end.empty()) {
      return Complain(*line.wire, "no end of this wire is a pin of a fuse box",
                      "write the fuse in the line of the wire that leaves the box; a plug is taken "
                      "for a box when several of its pins have a fuse, or its name says so");
    }
    const auto [done, is_new] = done_.emplace(end, line.fuse);
    if (!is_new) return SameFuse(line, end, done->second);
    const std::optional<std::string> feed = FeedOf(*line.wire, end);
    if (!feed) return;
    if (*feed == end) {
      return Complain(*line.wire, fmt::format("{} feeds the box, and has a fuse itself", end),
                      "give that fuse a holder of its own: a box with the pins IN and 1");
    }
    if (!line.fuse.name.empty() && !names_.insert(line.fuse.name).second) {
      return Complain(*line.wire, fmt::format("fuse {} is at another pin already", line.fuse.name),
                      "a fuse has one pin out; join the wires in a splice");
    }
    ScheduleWire& fuse = fuses.emplace_back();
    fuse.place = line.wire->fuse.place;
    const std::string name = line.fuse.name.empty() ? "fuse " + end : line.fuse.name;
    fuse.circuit = {FreeName(CircuitName(name), fuses), fuse.place};
    fuse.from = {*feed, fuse.place};
    fuse.to = {end, fuse.place};
    fuse.fuse_a = line.fuse.rating_a;
    fuse.fuse_mohm = 1e3 * kFuseV / fuse.fuse_a;
  }

  static std::string BoxEnd(const ScheduleWire& wire, const std::map<std::string, int>& boxes) {
    const auto lines = [&](const std::string& end) {
      const auto at = boxes.find(std::string(ConnectorOf(end)));
      return IsTerminal(end) && at != boxes.end() ? at->second : 0;
    };
    const int from = lines(wire.from.text), to = lines(wire.to.text);
    if (from == 0 && to == 0) return {};
    return from >= to ? wire.from.text : wire.to.text;
  }

  // The pin of the box that feeds its fuses; nothing: none is known, and that was said.
  std::optional<std::string> FeedOf(const ScheduleWire& wire, const std::string& end) {
    const std::string box(ConnectorOf(end));
    std::set<std::string> unfused, named;
    for (const ScheduleWire& other : schedule_.wires) {
      for (const Cell* at : {&other.from, &other.to}) {
        if (ConnectorOf(at->text) != box) continue;
        if (other.fuse.text.empty() && at->text != end) unfused.insert(at->text);
        if (IsFeedName(PinOf(at->text))) named.insert(at->text);
      }
    }
    if (named.size() == 1) return *named.begin();
    if (named.empty() && unfused.size() == 1) return *unfused.begin();
    Complain(wire,
             fmt::format("which pin feeds the fuses of {}? {}", box,
                         unfused.empty() ? "none is without a fuse"
                                         : fmt::format("{} have none", fmt::join(unfused, ", "))),
             "write the wire from the battery to the box in a line without a fuse, at a pin called "
             "IN");
    return std::nullopt;
  }

  // A second wire behind it says the same of it.
  void SameFuse(const Line& line, const std::string& end, const FuseCell& first) {
    if (line.fuse.rating_a == first.rating_a && line.fuse.name == first.name) return;
    Complain(*line.wire, fmt::format("{} has another fuse in a line above", end),
             "a pin has one fuse: write it alike in both lines");
  }

  void Complain(const ScheduleWire& wire, std::string what, std::string remedy) {
    imported_.problems.push_back({wire.fuse.place, std::move(what), std::move(remedy)});
  }

  // A fuse has a name of its own among circuits.
  std::string FreeName(const std::string& wanted, const std::vector<ScheduleWire>& fuses) const {
    const auto taken = [&](const std::string& name) {
      const auto is = [&](const ScheduleWire& wire) { return wire.circuit.text == name; };
      return std::ranges::any_of(schedule_.wires, is) ||
             std::ranges::any_of(fuses.begin(), fuses.end() - 1, is);
    };
    std::string name = taken(wanted) ? "fuse_" + wanted : wanted;
    for (int number = 2; taken(name); ++number) name = fmt::format("fuse_{}_{}", wanted, number);
    return name;
  }

  Imported& imported_;
  Schedule& schedule_;
  std::map<std::string, FuseCell> done_;  // pins that have their fuse
  std::set<std::string> names_;
};

}  // namespace

// A name, or none, then one number, then perhaps its unit: anything else may mean two things.
Read<FuseCell> ReadFuse(const std::string& text) {
  FuseCell fuse;
  bool clear = true;
  for (const std::string& token : Tokens(text)) {
    const auto amperes = Amperes(token);
    const bool rated = fuse.rating_a > 0;
    if (rated && !amperes && (token == "A" || token == "a")) continue;
    clear = clear && !rated;
    if (amperes) {
      fuse.rating_a = *amperes;
    } else {
      fuse.name += (fuse.name.empty() ? "" : "_") + token;
    }
  }
  if (clear && fuse.rating_a > 0 && fuse.rating_a <= kMostA) return {fuse, {}, {}};
  return {std::nullopt, fmt::format("'{}' is not the rating of a fuse", text),
          "write amperes, as 10 A or F3 10A"};
}

void FindParts(Imported& imported) { Finder(imported).Find(); }

}  // namespace drycrank::schedule
