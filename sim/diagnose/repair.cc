// SPDX-License-Identifier: Apache-2.0
#include "diagnose/repair.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <vector>

#include "diagnose/told_suspects.h"
#include "profile/told_controller.h"
#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

using profile::PlugOf;

std::string Labelled(const std::string& name, const std::string& label) {
  return label.empty() ? name : fmt::format("{} ({})", name, label);
}

}  // namespace

Repairs::Repairs(const profile::Bench& bench) : bench_(bench) {
  // Each wire makes one net of two: the name that sorts first is kept.
  for (const profile::Wire& wire : bench.wires) {
    if (!wire.fitted) continue;
    const std::string a = NetOf(wire.from), b = NetOf(wire.to);
    const std::string& first = std::min(a, b);
    net_[wire.from] = net_[wire.to] = first;
    for (auto& [place, net] : net_) {
      if (net == a || net == b) net = first;
    }
  }
}

std::string Repairs::NetOf(const std::string& place) const {
  const auto at = net_.find(place);
  return at == net_.end() ? place : at->second;
}

bool Repairs::IsWire(const std::string& circuit) const {
  return std::ranges::any_of(bench_.wires,
                             [&](const profile::Wire& wire) { return wire.circuit == circuit; });
}

bool Repairs::IsFuse(const std::string& circuit) const {
  return std::ranges::any_of(bench_.wires, [&](const profile::Wire& wire) {
    return wire.circuit == circuit && wire.IsFuse();
  });
}

Repair Repairs::OfContact(const std::string& terminal) const {
  const std::string plug = PlugOf(terminal);
  const int index = profile::IndexOf(bench_.connectors, plug);
  if (index < 0) return {"place " + terminal, terminal};
  const profile::Connector& connector = Nth(bench_.connectors, index);
  if (connector.pins.size() <= kSmallPlug) {
    return {"plug " + plug,
            fmt::format("contacts of plug {}: clean them, crimp them anew, push the "
                        "plug home",
                        Labelled(plug, connector.label))};
  }
  return {"contact " + terminal, fmt::format("contact {} of {}: clean it, crimp it anew", terminal,
                                             connector.label.empty() ? plug : connector.label)};
}

Repair Repairs::OfShort(const std::string& at, const std::string& with) const {
  const std::string a = NetOf(at), b = NetOf(with);
  const std::string key = fmt::format("short {} {}", std::min(a, b), std::max(a, b));
  return {key, fmt::format("{} and {} touch: look at the pins, then along the wires", at, with)};
}

// A wheel that is mounted otherwise, and an offset told otherwise, are one angle: either is set right.
Repair Repairs::OfSetting(const profile::Fault& f) const {
  const std::string_view setting = profile::SettingOf(f);
  const int channel = profile::IndexOf(bench_.controller->triggers, f.at);
  if (setting == "offset_deg" && channel >= 0) {
    const std::string wheel = TriggerBehind(bench_, Nth(bench_.controller->triggers, channel));
    if (!wheel.empty()) return {"wheel " + wheel, ""};
  }
  return {fmt::format("setting {} {}", f.at, setting), ""};
}

Repair Repairs::Of(const profile::Fault& f) const {
  const bool supplied = !bench_.supplies.empty();
  const std::string minus = supplied ? bench_.supplies.front().minus : "ground";
  const std::string plus = supplied ? bench_.supplies.front().plus : "supply";
  if (f.Is<fault::ShortToGround>()) return OfShort(f.at, minus);
  if (f.Is<fault::ShortToSupply>()) return OfShort(f.at, plus);
  if (f.Is<fault::ShortTogether>()) return OfShort(f.at, f.with);
  if (f.Is<fault::Leakage>()) return OfShort(f.at, f.with.empty() ? minus : f.with);
  if (f.Is<fault::Open>() || f.Is<fault::SeriesResistance>()) {
    if (!IsWire(f.at)) return OfContact(f.at);
    if (IsFuse(f.at)) {
      return {"fuse " + f.at,
              fmt::format("fuse {}: look at it; if it has blown, find what draws too much before "
                          "you change it",
                          f.at)};
    }
    return {"wire " + f.at, ""};
  }
  if (f.Is<fault::GroundOffset>()) return OfContact(f.at);
  if (f.Is<fault::TerminalsSwapped>() || f.Is<fault::ConnectorsSwapped>()) {
    return {fmt::format("swap {} {}", std::min(f.at, f.with), std::max(f.at, f.with)), ""};
  }
  if (f.Is<fault::WheelOffset>() || f.Is<fault::ToothMissing>() || f.Is<fault::ExtraTooth>() ||
      f.Is<fault::WheelRunout>() || f.Is<fault::CamStuck>() || f.Is<fault::CamSlow>()) {
    return {"wheel " + f.at, ""};
  }
  if (f.Is<fault::NotPlugged>()) return {"plug " + f.at, fmt::format("plug {}: push it home", f.at)};
  if (f.Is<fault::RelayStays>()) {
    return {"relay " + f.at, fmt::format("relay {}: change it for another of its kind", f.at)};
  }
  if (f.Is<fault::Termination>()) {
    return {"termination " + f.at,
            fmt::format("termination of {}: measure it, plug off, and fit what the bench says", f.at)};
  }
  if (f.Is<fault::NotFitted>()) {
    return {"device " + f.at,
            fmt::format("{}: is it there and its plug on? Else it is dead", f.at)};
  }
  if (f.Is<fault::SupplyOff>()) {
    const bool terminal = f.at.find('.') != std::string::npos;
    return {"supply " + f.at,
            terminal ? fmt::format("{}: what loads this 5 V output? Else the controller", f.at)
                     : fmt::format("supply {}: set it to what the bench says", f.at)};
  }
  if (f.Is<fault::SensorOffset>() || f.Is<fault::SensorStuck>())
    return {"device " + f.at, f.at + ": change it"};
  if (const auto* node = f.As<fault::BabblingNode>()) {
    return {fmt::format("node 0x{:X} {}", node->id, f.at),
            fmt::format("find who sends 0x{:X} on bus {}: unplug one node after the other until it "
                        "is gone",
                        node->id, f.at)};
  }
  if (f.Is<fault::PickupStrength>()) {
    return {"wheel " + f.at, fmt::format("{}: set the gap between sensor and wheel", f.at)};
  }
  if (f.Is<fault::PickupInverted>()) {
    return {"device " + f.at,
            fmt::format("{}: is it the sensor that was ordered? Its output is the other way round",
                        f.at)};
  }
  if (f.Is<fault::Told>()) return OfSetting(f);
  if (f.Is<fault::Calibration>()) return {"table " + f.at, ""};
  return {fmt::format("{} {}", profile::Name(f.kind), f.at), ""};
}

// Of several faults at once, each place once.
Repair Repairs::Of(const Hypothesis& hypothesis) const {
  Repair repair;
  std::set<std::string> keys, words;
  for (const profile::Fault& f : hypothesis.faults) {
    const Repair one = Of(f);
    keys.insert(one.key);
    words.insert(one.words);
  }
  for (const std::string& key : keys) repair.key += (repair.key.empty() ? "" : " + ") + key;
  if (!words.contains("")) {
    for (const std::string& word : words) repair.words += (repair.words.empty() ? "" : "; ") + word;
  } else {
    repair.words = Describe(bench_, hypothesis);
  }
  return repair;
}

}  // namespace drycrank::diagnose
