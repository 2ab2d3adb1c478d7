// SPDX-License-Identifier: Apache-2.0
//
// Wires that belong side by side: twisted groups, a bus' two wires from node to node, the two leads
// of a coil. ISO 11898-2: a bus has two terminations of 120 ohm, one at each end.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "profile/triggers.h"
#include "schedule/check_parts.h"

namespace drycrank::schedule {
namespace {

using enum FindingKind;

constexpr double kTerminationWithin = 0.1;  // of its value; resistors of 5 % and a warm day

// Where a wire goes, by connectors; any splice is as good as another.
std::pair<std::string, std::string> Plugs(const ScheduleWire& wire) {
  std::string a(ConnectorOf(wire.from.text)), b(ConnectorOf(wire.to.text));
  if (a > b) std::swap(a, b);
  return {a, b};
}

// Its partner is not there at all: the bus says so.
bool IsOfOpenPair(const Check& check, int wire) {
  if (check.in.bench == nullptr) return false;
  const auto is_half = [&](const std::string& here, const std::string& other) {
    const auto& wires = check.nets.WiresAt(here);
    return std::ranges::count(wires, wire) > 0 && check.nets.WiresAt(other).empty();
  };
  return std::ranges::any_of(check.in.bench->buses, [&](const profile::Bus& bus) {
    return bus.nodes.size() > 1 &&
           std::ranges::any_of(bus.nodes, [&](const profile::BusNode& node) {
             return is_half(node.high, node.low) || is_half(node.low, node.high);
           });
  });
}

void CheckTwist(Check& check, const std::string& name, const std::vector<int>& wires) {
  const ScheduleWire& first = check.Wire(wires[0]);
  if (wires.size() == 1 && IsOfOpenPair(check, wires[0])) {
    ++check.result.consequences;
    return;
  }
  if (wires.size() == 1) {
    check.Add(kTwistOfOne, first.twist.place,
              fmt::format("{} has no partner: no other wire has twist '{}'", Title(first), name),
              "write the same twist at its partner", wires, {});
    return;
  }
  double shortest_m = 1e9, longest_m = 0;
  for (const int i : wires) {
    const ScheduleWire& wire = check.Wire(i);
    if (Plugs(wire) != Plugs(first)) {
      check.Add(
          kTwistEndsDiffer, wire.twist.place,
          fmt::format("twist '{}': {} does not go where {} goes", name, Title(wire), Title(first)),
          "twisted wires run together from one plug to the next", wires, {});
      return;
    }
    if (!wire.length_m) return;
    shortest_m = std::min(shortest_m, *wire.length_m);
    longest_m = std::max(longest_m, *wire.length_m);
  }
  if (longest_m <= shortest_m * (1 + check.in.limits.twist_length_percent / 100)) return;
  check.Add(
      kTwistLengthsDiffer, check.Wire(wires[1]).length.place,
      fmt::format("twist '{}': its wires are {:g} m and {:g} m long", name, shortest_m, longest_m),
      "cut them alike, and twist them before the ends are made", wires, {});
}

// A pair that runs on through plugs in line, under one word: its pieces, from plug to plug. Any that
// has no two wires, or hangs on no other by such a plug, leaves all of them one group.
std::vector<std::vector<int>> PiecesOf(const Check& check, const std::vector<int>& wires) {
  std::map<std::pair<std::string, std::string>, std::vector<int>> by_plugs;
  for (const int i : wires) by_plugs[Plugs(check.Wire(i))].push_back(i);
  const auto runs_on = [&](const auto& piece) {
    const auto goes_to = [&](const std::string& plug) {
      return check.IsInLine(plug) && std::ranges::count_if(by_plugs, [&](const auto& other) {
               return other.first.first == plug || other.first.second == plug;
             }) > 1;
    };
    return piece.second.size() > 1 && (goes_to(piece.first.first) || goes_to(piece.first.second));
  };
  if (!std::ranges::all_of(by_plugs, runs_on)) return {wires};
  std::vector<std::vector<int>> pieces;
  for (const auto& [plugs, piece] : by_plugs) pieces.push_back(piece);
  return pieces;
}

void CheckTwists(Check& check) {
  std::map<std::string, std::vector<int>> groups;
  for (std::size_t i = 0; i < check.schedule.wires.size(); ++i) {
    const std::string& twist = check.schedule.wires[i].twist.text;
    if (!twist.empty()) groups[twist].push_back(static_cast<int>(i));
  }
  for (const auto& [name, wires] : groups) {
    for (const std::vector<int>& piece : PiecesOf(check, wires)) CheckTwist(check, name, piece);
  }
}

class BusCheck {
 public:
  BusCheck(Check& check, const profile::Bus& bus) : check_(check), bus_(bus) {}

  void Run() {
    if (bus_.nodes.empty()) return;
    Terminations();
    if (bus_.nodes.size() < 2) return;
    high_ = CommonNet(&profile::BusNode::high);
    low_ = CommonNet(&profile::BusNode::low);
    if (high_ == low_ && !IsJoined()) {
      // Two nodes, one of them crossed: the other is right, and they are the same by either's word.
      high_ = check_.nets.Of(bus_.nodes[0].high);
      low_ = check_.nets.Of(bus_.nodes[0].low);
    }
    if (high_ >= 0 && high_ == low_) {
      Add(kBusPairShort, bus_.nodes[0], fmt::format("bus {}: its two wires are joined", bus_.name),
          "high and low must not touch; the resistors between them are inside the devices");
      return;
    }
    for (const profile::BusNode& node : bus_.nodes) CheckNode(node);
    for (const profile::BusNode& node : bus_.nodes) CheckTwistAt(node);
  }

 private:
  void Add(FindingKind kind, const profile::BusNode& node, std::string what, std::string remedy) {
    if (check_.Follows(node.high) || check_.Follows(node.low)) {
      ++check_.result.consequences;
      return;
    }
    std::vector<int> wires = check_.nets.WiresAt(node.high);
    const auto& low = check_.nets.WiresAt(node.low);
    wires.insert(wires.end(), low.begin(), low.end());
    check_.Add(kind, check_.PlaceAt(node.high, check_.PlaceAt(node.low, node.place)),
               std::move(what), std::move(remedy), wires, {node.high, node.low});
    told_.insert(&node);
  }

  // A resistor with a plug of its own: a load between the two wires.
  bool IsAcross(const profile::Load& load) const {
    const int plus = check_.nets.Of(load.plus), minus = check_.nets.Of(load.minus);
    return plus >= 0 && minus >= 0 &&
           std::ranges::any_of(bus_.nodes, [&](const profile::BusNode& node) {
             const std::pair pair(check_.nets.Of(node.high), check_.nets.Of(node.low));
             return pair.first != pair.second &&
                    (pair == std::pair(plus, minus) || pair == std::pair(minus, plus));
           });
  }

  void Terminations() {
    std::vector<std::string> at;
    std::vector<std::string> odd;
    const double wanted = check_.in.limits.termination_ohm;
    const auto take = [&](const std::string& name, double ohm) {
      at.push_back(name);
      if (std::abs(ohm - wanted) <= kTerminationWithin * wanted) return;
      odd.push_back(fmt::format("{} has {:g} Ω", name, ohm));
    };
    for (const profile::BusNode& node : bus_.nodes) {
      if (node.termination_ohm != 0) take(node.name, node.termination_ohm);
    }
    for (const profile::Load& load : check_.in.bench->loads) {
      if (IsAcross(load)) take(load.name, load.ohm);
    }
    const Place place = bus_.place;
    if (at.size() != 2) {
      check_.Add(kBusTerminations, place,
                 fmt::format("bus {} has {} termination{}{}", bus_.name,
                             at.empty() ? std::string("no") : std::to_string(at.size()),
                             at.size() == 1 ? "" : "s", at.empty() ? "" : ": " + Listed(at)),
                 fmt::format("two of {:g} Ω, one at each end of the line (ISO 11898-2)", wanted),
                 {}, {});
    } else if (!odd.empty()) {
      check_.Add(
          kBusTerminations, place, fmt::format("bus {}: termination of {}", bus_.name, Listed(odd)),
          fmt::format("two of {:g} Ω, one at each end of the line (ISO 11898-2)", wanted), {}, {});
    }
  }

  bool IsJoined() const {
    return std::ranges::any_of(bus_.nodes, [&](const profile::BusNode& node) {
      const int high = check_.nets.Of(node.high);
      return high >= 0 && high == check_.nets.Of(node.low);
    });
  }

  // The net that most nodes have there; -1: none is wired.
  int CommonNet(std::string profile::BusNode::*terminal) const {
    std::map<int, int> count;
    for (const profile::BusNode& node : bus_.nodes) ++count[check_.nets.Of(node.*terminal)];
    count.erase(-1);
    const auto most =
        std::max_element(count.begin(), count.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; });
    return most == count.end() ? -1 : most->first;
  }

  void CheckNode(const profile::BusNode& node) {
    const int high = check_.nets.Of(node.high), low = check_.nets.Of(node.low);
    const bool high_ok = high >= 0 && high == high_, low_ok = low >= 0 && low == low_;
    if (high_ok && low_ok) return;
    if (high >= 0 && high == low_ && low == high_) {
      Add(kBusPairSwapped, node,
          fmt::format("bus {}: high and low are swapped at {}", bus_.name, node.name),
          fmt::format("high is {}, low is {}", node.high, node.low));
      return;
    }
    // No node has it: one wire that is not there.
    const bool is_told = (high_ok || (high_ < 0 && !told_.empty())) &&
                         (low_ok || (low_ < 0 && !told_.empty()));
    if (is_told) {
      ++check_.result.consequences;
      return;
    }
    const char* which = !high_ok && !low_ok ? "high and low" : high_ok ? "low" : "high";
    const std::string& terminal = high_ok ? node.low : node.high;
    Add(kBusPairOpen, node,
        fmt::format("bus {}: {} of {} not joined to the others", bus_.name, which, node.name),
        fmt::format("wire {}; a bus needs both", terminal));
  }

  // The two wires at the node are of one twist.
  void CheckTwistAt(const profile::BusNode& node) {
    const auto& high = check_.nets.WiresAt(node.high);
    const auto& low = check_.nets.WiresAt(node.low);
    if (high.size() != 1 || low.size() != 1 || told_.contains(&node)) return;
    const ScheduleWire& a = check_.Wire(high[0]);
    const ScheduleWire& b = check_.Wire(low[0]);
    if (!a.twist.text.empty() && a.twist.text == b.twist.text) return;
    if (!pairs_told_.insert(std::minmax(high[0], low[0])).second) return;
    Add(kBusPairNotTwisted, node,
        fmt::format("bus {}: the pair at {} is not twisted together ({} and {})", bus_.name,
                    node.name, Twist(a), Twist(b)),
        "give both wires the same twist");
  }

  static std::string Twist(const ScheduleWire& wire) {
    const std::string twist = wire.twist.text.empty() ? "none" : "'" + wire.twist.text + "'";
    return fmt::format("{}: {}", wire.circuit.text, twist);
  }

  Check& check_;
  const profile::Bus& bus_;
  int high_ = -1, low_ = -1;
  std::set<const profile::BusNode*> told_;
  std::set<std::pair<int, int>> pairs_told_;
};

// The leads of a variable-reluctance sensor pick up noise from the wires beside them.
void CheckCoils(Check& check) {
  for (const profile::Trigger& trigger : check.in.bench->triggers) {
    const auto* coil = std::get_if<profile::VariableReluctancePickup>(&trigger.pickup);
    if (coil == nullptr) continue;
    const auto& plus = check.nets.WiresAt(coil->plus);
    const auto& minus = check.nets.WiresAt(coil->minus);
    if (plus.size() != 1 || minus.size() != 1) continue;
    const ScheduleWire& a = check.Wire(plus[0]);
    const ScheduleWire& b = check.Wire(minus[0]);
    if (!a.twist.text.empty() || !b.twist.text.empty()) continue;  // judged as a twist
    check.Add(kPairNotTwisted, a.place,
              fmt::format("the leads of the coil {} are not twisted: {} and {}", trigger.name,
                          a.circuit.text, b.circuit.text),
              "twist them; the signal is small while the engine cranks", {plus[0], minus[0]}, {});
  }
}

}  // namespace

void CheckPairs(Check& check) {
  CheckTwists(check);
  if (check.in.bench == nullptr) return;
  for (const profile::Bus& bus : check.in.bench->buses) BusCheck(check, bus).Run();
  CheckCoils(check);
}

}  // namespace drycrank::schedule
