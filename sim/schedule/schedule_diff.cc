// SPDX-License-Identifier: Apache-2.0
#include "schedule/schedule_diff.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "schedule/nets.h"
#include "types/nth.h"

namespace drycrank::schedule {
namespace {

using Ends = std::pair<std::string, std::string>;

Ends EndsOf(const ScheduleWire& wire) {
  Ends ends(wire.from.text, wire.to.text);
  if (ends.first > ends.second) std::swap(ends.first, ends.second);
  return ends;
}

std::string Size(const ScheduleWire& wire) {
  if (wire.IsFuse()) return fmt::format("fuse {:g} A, {:.3g} mohm", wire.fuse_a, wire.fuse_mohm);
  std::vector<std::string> parts;
  if (!wire.gauge.text.empty()) parts.push_back(wire.gauge.text);
  if (wire.length_m) parts.push_back(fmt::format("{:g} m", *wire.length_m));
  if (!wire.colour.text.empty()) parts.push_back(wire.colour.text);
  if (!wire.twist.text.empty()) parts.push_back("twist " + wire.twist.text);
  if (!wire.fitted) parts.push_back("on paper only");
  return fmt::format("{}", fmt::join(parts, ", "));
}

std::string Words(const ScheduleWire& wire) {
  const std::string size = Size(wire);
  return fmt::format("{}: {} to {}{}{}", wire.circuit.text, wire.from.text, wire.to.text,
                     size.empty() ? "" : ", ", size);
}

const char* Words(profile::Suppression suppression) {
  switch (suppression) {
    case profile::Suppression::kNone:
      return "nothing";
    case profile::Suppression::kDiode:
      return "a diode";
    case profile::Suppression::kResistor:
      return "a resistor";
  }
  return "";
}

std::vector<std::string> PinsOf(const profile::Diode& diode) { return {diode.anode, diode.cathode}; }

std::string Words(const profile::Diode& diode) {
  return fmt::format("diode {}: {} to {}, {:g} V", diode.name, diode.anode, diode.cathode,
                     diode.forward_v);
}

std::vector<std::string> PinsOf(const profile::Relay& relay) {
  std::vector<std::string> pins = {relay.coil_plus, relay.coil_minus, relay.common,
                                   relay.normally_open};
  if (!relay.normally_closed.empty()) pins.push_back(relay.normally_closed);
  return pins;
}

std::string Words(const profile::Relay& relay) {
  return fmt::format("relay {}: {}; coil {:g} ohm, pulls in at {:g} V, {} across it, contact {:g} ohm",
                     relay.name, fmt::join(PinsOf(relay), ", "), relay.coil_ohm, relay.pulls_in_v,
                     Words(relay.suppression), relay.contact_ohm);
}

class Differ {
 public:
  Differ(const Schedule& before, const Schedule& after, const profile::Bench* bench)
      : before_(before), after_(after), bench_(bench), nets_(after, bench) {}

  ScheduleDiff Run() {
    Match();
    Parts(before_.relays, after_.relays);
    Parts(before_.diodes, after_.diodes);
    for (const int wire : new_) CarriedBy(wire);
    ListAgain();
    return std::move(diff_);
  }

 private:
  static std::vector<const ScheduleWire*> PointersTo(const Schedule& schedule) {
    std::vector<const ScheduleWire*> all;
    for (const ScheduleWire& wire : schedule.wires) all.push_back(&wire);
    return all;
  }

  // The pairs that `same` finds, in order, are handed on and leave both lists.
  template <class Same, class Found>
  void Pair(const Same& same, const Found& found) {
    for (auto old = old_.begin(); old != old_.end();) {
      const auto now = std::ranges::find_if(now_, [&](const auto* w) { return same(**old, *w); });
      if (now == now_.end()) {
        ++old;
        continue;
      }
      found(**old, **now);
      now_.erase(now);
      old = old_.erase(old);
    }
  }

  void Match() {
    old_ = PointersTo(before_);
    now_ = PointersTo(after_);
    const auto ends = [](const auto& a, const auto& b) { return EndsOf(a) == EndsOf(b); };
    const auto name = [](const auto& a, const auto& b) { return a.circuit.text == b.circuit.text; };
    Pair([&](const auto& a, const auto& b) { return ends(a, b) && name(a, b); },
         [&](const auto& a, const auto& b) { Resized(a, b); });
    Pair(ends, [&](const auto& a, const auto& b) {
      Say('~', fmt::format("{} is called {} now", a.circuit.text, b.circuit.text), diff_.changed);
      Resized(a, b);
    });
    Pair(name, [&](const auto& a, const auto& b) {
      Say('~', fmt::format("{}; it was {}", Words(b), Words(a)), diff_.changed);
      IsNew(b, "moved");
      Touched(a);
    });
    for (const ScheduleWire* wire : now_) {
      Say('+', Words(*wire), diff_.added);
      IsNew(*wire, "new");
    }
    for (const ScheduleWire* wire : old_) {
      Say('-', Words(*wire), diff_.removed);
      Touched(*wire);
      // What hung behind a fuse that is gone.
      if (wire->IsFuse()) TouchedAt(wire->from.text), TouchedAt(wire->to.text);
    }
  }

  void Say(char sign, const std::string& words, int& count) {
    diff_.lines.push_back(fmt::format("{} {}", sign, words));
    ++count;
  }

  void Resized(const ScheduleWire& a, const ScheduleWire& b) {
    if (Size(a) == Size(b)) return;
    Say('~', fmt::format("{}; it was {}", Words(b), Size(a)), diff_.changed);
    IsNew(b, "changed");
  }

  void IsNew(const ScheduleWire& wire, const char* why) {
    why_.emplace(wire.circuit.text, why);
    new_.push_back(static_cast<int>(&wire - after_.wires.data()));
    Touched(wire);
  }

  void Touched(const ScheduleWire& wire) {
    if (wire.IsFuse()) return;
    for (const std::string& end : {wire.from.text, wire.to.text}) TouchedAt(end);
  }
  void TouchedAt(const std::string& end) {
    for (const int other : nets_.WiresAt(end)) {
      const ScheduleWire& there = Nth(after_.wires, other);
      if (!there.IsFuse()) touched_.emplace(there.circuit.text, end);
    }
  }

  template <class Part>
  void Parts(const std::vector<Part>& before, const std::vector<Part>& after) {
    const auto find = [](const std::vector<Part>& in, const std::string& name) -> const Part* {
      const int at = profile::IndexOf(in, name);
      return at < 0 ? nullptr : &Nth(in, at);
    };
    for (const Part& part : after) {
      const Part* old = find(before, part.name);
      if (old != nullptr && Words(*old) == Words(part)) continue;
      Say(old == nullptr ? '+' : '~', Words(part), old == nullptr ? diff_.added : diff_.changed);
      TouchedAll(PinsOf(part));
    }
    for (const Part& part : before) {
      if (find(after, part.name) != nullptr) continue;
      Say('-', Words(part), diff_.removed);
      TouchedAll(PinsOf(part));
    }
  }
  void TouchedAll(const std::vector<std::string>& pins) {
    for (const std::string& pin : pins) TouchedAt(pin);
  }

  // To the nearest pole that the wire is joined to.
  void CarriedBy(int index) {
    if (bench_ == nullptr) return;
    const ScheduleWire& wire = Nth(after_.wires, index);
    std::vector<int> best;
    for (const profile::Supply& supply : bench_->supplies) {
      for (const std::string& pole : {supply.plus, supply.minus}) {
        const std::vector<int> way = nets_.Way(wire.from.text, pole);
        if (!way.empty() && (best.empty() || way.size() < best.size())) best = way;
      }
    }
    for (const int on_way : best) carries_.insert(Nth(after_.wires, on_way).circuit.text);
  }

  void ListAgain() {
    std::set<std::string> done;
    for (const ScheduleWire& wire : after_.wires) {
      const std::string& circuit = wire.circuit.text;
      if (!done.insert(circuit).second) continue;
      ++diff_.circuits;
      const std::string why = WhyAgain(circuit);
      if (!why.empty()) diff_.again.push_back({circuit, why});
    }
  }
  std::string WhyAgain(const std::string& circuit) const {
    if (const auto own = why_.find(circuit); own != why_.end()) return own->second;
    if (const auto at = touched_.find(circuit); at != touched_.end()) {
      return fmt::format("ends at {}, where a hand has been", at->second);
    }
    return carries_.contains(circuit) ? "carries the current of what changed" : "";
  }

  const Schedule& before_;
  const Schedule& after_;
  const profile::Bench* bench_;
  const Nets nets_;
  ScheduleDiff diff_;
  std::vector<const ScheduleWire*> old_, now_;  // not paired yet
  std::vector<int> new_;                        // indices into after_: new, moved or changed
  std::map<std::string, std::string> why_;      // by circuit
  std::map<std::string, std::string> touched_;  // circuit, and where
  std::set<std::string> carries_;
};

std::string Counted(std::size_t count, const char* what) {
  return fmt::format("{} {}{}", count, what, count == 1 ? "" : "s");
}

}  // namespace

ScheduleDiff DiffSchedules(const Schedule& before, const Schedule& after,
                           const profile::Bench* bench) {
  return Differ(before, after, bench).Run();
}

std::string DiffText(const ScheduleDiff& diff) {
  if (diff.lines.empty()) return "Nothing changed.\n";
  std::string text = fmt::format("{} added, {} changed, {} removed\n", diff.added, diff.changed,
                                 diff.removed);
  for (const std::string& line : diff.lines) text += "  " + line + "\n";
  text += fmt::format("To be proven again: {} of {}\n", Counted(diff.again.size(), "circuit"),
                      diff.circuits);
  for (const auto& [circuit, why] : diff.again) text += fmt::format("  {}: {}\n", circuit, why);
  return text;
}

std::string DiffJson(const ScheduleDiff& diff) {
  nlohmann::ordered_json json = {{"generator", "drycrank"},   {"added", diff.added},
                                 {"changed", diff.changed},   {"removed", diff.removed},
                                 {"changes", diff.lines},     {"circuits", diff.circuits},
                                 {"proven_again", nlohmann::ordered_json::array()}};
  for (const auto& [circuit, why] : diff.again) {
    json["proven_again"].push_back({{"circuit", circuit}, {"why", why}});
  }
  return json.dump(2) + "\n";
}

}  // namespace drycrank::schedule
