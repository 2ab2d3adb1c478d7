// SPDX-License-Identifier: Apache-2.0
//
// What no net may have (two sources; a source and a ground), and what controller and loads need: a
// supply and a ground.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "schedule/check_parts.h"
#include "schedule/power_nets.h"
#include "types/nth.h"

namespace drycrank::schedule {
namespace {

using enum FindingKind;

class SourceCheck {
 public:
  explicit SourceCheck(Check& check) : check_(check), bench_(*check.in.bench), power_(check) {}

  void Run() {
    Sources();
    for (const profile::Supply& supply : bench_.supplies) {
      Wired("supply " + supply.name, supply.plus);
      Wired("supply " + supply.name, supply.minus);
    }
    if (bench_.controller) ControllerPower();
    for (const profile::Load& load : bench_.loads) LoadPower(load);
    if (!bench_.controller) return;
    for (const profile::ControllerOutput& output : bench_.controller->outputs) LeadsToLoad(output);
  }

 private:
  void Sources() {
    std::map<int, std::vector<const SourceAt*>> at;
    for (const SourceAt& source : power_.sources()) {
      if (const int net = check_.nets.Of(source.terminal); net >= 0) at[net].push_back(&source);
    }
    for (const auto& [net, sources] : at) {
      if (power_.grounds().contains(net)) {
        Shorted(net, *sources.front());
      } else if (sources.size() > 1) {
        FedTwice(net, *sources[0], *sources[1]);
      }
    }
  }

  std::string WayText(const std::vector<int>& way, const std::string& from) const {
    std::string text = from, at = from;
    for (const int i : way) {
      const ScheduleWire& wire = check_.Wire(i);
      at = wire.from.text == at ? wire.to.text : wire.from.text;
      text += " - " + at;
    }
    return text;
  }

  void Shorted(int net, const SourceAt& source) {
    std::string ground;
    std::vector<int> way;
    for (const std::string& end : power_.ground_ends()) {
      if (check_.nets.Of(end) != net) continue;
      const std::vector<int> one = check_.nets.Way(source.terminal, end);
      if (way.empty() || one.size() < way.size()) {
        way = one;
        ground = end;
      }
    }
    check_.broken_nets.insert(net);
    if (way.empty() || check_.doubtful_nets.contains(net)) {
      ++check_.result.consequences;
      return;
    }
    check_.Add(kSupplyOnGround, check_.Wire(LikelyWrong(way)).place,
               fmt::format("{} is shorted to ground {}: {}", source.title, ground,
                           WayText(way, source.terminal)),
               "one of these wires is wrong; nothing may be switched on before it is found", way,
               {source.terminal, ground});
    TellCircuits(net);
  }

  // A wire from splice to splice, if there is one, else the last.
  int LikelyWrong(const std::vector<int>& way) const {
    const auto bridge = std::find_if(way.begin(), way.end(), [&](int i) {
      return !IsTerminal(check_.Wire(i).from.text) && !IsTerminal(check_.Wire(i).to.text);
    });
    return bridge == way.end() ? way.back() : *bridge;
  }

  void FedTwice(int net, const SourceAt& a, const SourceAt& b) {
    check_.broken_nets.insert(net);
    if (check_.doubtful_nets.contains(net)) {
      ++check_.result.consequences;
      return;
    }
    const std::vector<int> way = check_.nets.Way(a.terminal, b.terminal);
    check_.Add(
        kSupplyFedTwice, check_.Wire(LikelyWrong(way)).place,
        fmt::format("{} and {} feed one net: {}", a.title, b.title, WayText(way, a.terminal)),
        "one source, one net; one of these wires is wrong", way, {a.terminal, b.terminal});
    TellCircuits(net);
  }

  void TellCircuits(int net) {
    for (const int wire : check_.nets.WiresOf(net)) {
      check_.told_circuits.insert(check_.Wire(wire).circuit.text);
    }
  }

  bool Wired(const std::string& title, const std::string& terminal) {
    if (!check_.nets.WiresAt(terminal).empty()) return true;
    check_.Say(kTerminalWithoutWire, terminal, ConnectorPlace(terminal),
               fmt::format("no wire goes to {}, which {} needs", terminal, title), "add its wire",
               {terminal});
    return false;
  }

  Place ConnectorPlace(const std::string& terminal) const {
    const int at = profile::IndexOf(bench_.connectors, ConnectorOf(terminal));
    return at < 0 ? Place{} : Nth(bench_.connectors, at).place;
  }

  void ControllerPower() {
    const profile::Controller& controller = *bench_.controller;
    if (Wired("the controller", controller.supply) && !power_.IsSupply(controller.supply)) {
      check_.Say(
          kNoSupply, controller.supply, controller.place,
          fmt::format("the controller's supply {} is not connected to a supply", controller.supply),
          "wire it to the supply", {controller.supply});
    }
    if (!Wired("the controller", controller.ground)) return;
    const int net = check_.nets.Of(controller.ground);
    const bool grounded = std::any_of(
        bench_.supplies.begin(), bench_.supplies.end(),
        [&](const profile::Supply& supply) { return check_.nets.Of(supply.minus) == net; });
    if (!grounded && !bench_.supplies.empty()) {
      check_.Say(kNoGround, controller.ground, controller.place,
                 fmt::format("the controller's ground {} is not connected to the supply's minus",
                             controller.ground),
                 "wire it to the supply's minus", {controller.ground});
    }
  }

  // An output of the controller may switch it: a terminal there that the bench says nothing of.
  bool IsSwitched(const std::string& end) const {
    const int net = check_.nets.Of(end);
    if (net < 0 || !bench_.controller) return false;
    const auto& ends = check_.nets.EndsOf(net);
    return std::any_of(ends.begin(), ends.end(), [&](const std::string& e) {
      return ConnectorOf(e) == ConnectorOf(bench_.controller->supply) ||
             std::ranges::any_of(bench_.controller->outputs, [&](const auto& output) {
               return ConnectorOf(output.terminal) == ConnectorOf(e);
             });
    });
  }

  void LeadsToLoad(const profile::ControllerOutput& output) {
    const std::string title = "output " + output.name;
    if (!Wired(title, output.terminal) || output.load < 0) return;
    const profile::Load& load = Nth(bench_.loads, output.load);
    const int net = check_.nets.Of(output.terminal);
    if (check_.nets.Of(load.plus) == net || check_.nets.Of(load.minus) == net) return;
    if (SwitchesByRelay(net, load)) return;
    check_.Say(
        kNoSignal, output.terminal, output.place,
        fmt::format("{}: {} is not connected to its load {}", title, output.terminal, load.name),
        "wire it to the load", {output.terminal});
  }

  // A relay's coil is in the output's net, and its contact in the load's.
  bool SwitchesByRelay(int net, const profile::Load& load) const {
    const auto at = [&](const std::string& end, int wanted) {
      return !end.empty() && wanted >= 0 && check_.nets.Of(end) == wanted;
    };
    const int plus = check_.nets.Of(load.plus), minus = check_.nets.Of(load.minus);
    return std::ranges::any_of(bench_.relays, [&](const profile::Relay& relay) {
      if (!at(relay.coil_plus, net) && !at(relay.coil_minus, net)) return false;
      return at(relay.common, plus) || at(relay.common, minus) ||
             at(relay.normally_closed, plus) || at(relay.normally_closed, minus);
    });
  }

  void LoadPower(const profile::Load& load) {
    const std::string title = "load " + load.name;
    const bool plus = Wired(title, load.plus), minus = Wired(title, load.minus);
    if (plus && !power_.IsSupply(load.plus) && !IsSwitched(load.plus)) {
      check_.Say(kNoSupply, load.plus, {},
                 fmt::format("{}: its plus {} is not connected to a supply", title, load.plus),
                 "wire it to the supply", {load.plus});
    }
    if (minus && !power_.IsGround(load.minus) && !IsSwitched(load.minus)) {
      check_.Say(kNoGround, load.minus, {},
                 fmt::format("{}: its minus {} is not connected to a ground", title, load.minus),
                 "wire it to ground", {load.minus});
    }
  }

  Check& check_;
  const profile::Bench& bench_;
  const PowerNets power_;
};

}  // namespace

void CheckSources(Check& check) { SourceCheck(check).Run(); }

}  // namespace drycrank::schedule
