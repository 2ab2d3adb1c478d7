// SPDX-License-Identifier: Apache-2.0
#include "diagnose/unheard.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>

#include "harness/bus_pins.h"
#include "profile/bus_nodes.h"
#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Bench;
using profile::Fault;

constexpr double kUnexplained = 12;  // nats, as a glitch (weigh.h)
constexpr int kMostUnexplained = 2;
constexpr double kPerOctave = 2;  // sizes that are told apart: who hears whom turns at one of them

constexpr double kNoTerminationOhm = 1e12;

using profile::PlugOf;

// In half octaves; of another kind nothing.
int SizeOf(const Fault& f) {
  std::optional<double> ohm;
  if (const auto* k = f.As<fault::SeriesResistance>()) ohm = k->ohm;
  if (const auto* k = f.As<fault::ShortToGround>()) ohm = k->ohm;
  if (const auto* k = f.As<fault::ShortToSupply>()) ohm = k->ohm;
  if (const auto* k = f.As<fault::ShortTogether>()) ohm = k->ohm;
  if (const auto* k = f.As<fault::Leakage>()) ohm = k->ohm;
  if (const auto* k = f.As<fault::Termination>()) ohm = k->ohm > 0 ? k->ohm : kNoTerminationOhm;
  return ohm ? static_cast<int>(std::lround(kPerOctave * std::log2(std::max(*ohm, 1e-6)))) : 0;
}

bool IsOfHarness(const Fault& f) {
  return f.Is<fault::Open>() || f.Is<fault::SeriesResistance>() || f.Is<fault::ShortToGround>() ||
         f.Is<fault::ShortToSupply>() || f.Is<fault::ShortTogether>() || f.Is<fault::Leakage>() ||
         f.Is<fault::TerminalsSwapped>() || f.Is<fault::ConnectorsSwapped>() ||
         f.Is<fault::NotPlugged>() || f.Is<fault::GroundOffset>() || f.Is<fault::RelayStays>() ||
         f.Is<fault::Termination>();
}

plant::Party PartyOf(profile::Sender sender) {
  if (sender == profile::Sender::kController) return plant::Party::kController;
  return sender == profile::Sender::kDisplay ? plant::Party::kDisplay : plant::Party::kComputer;
}

}  // namespace

Unheard::Unheard(const Bench& bench) : bench_(bench) {
  if (!plant::HasBusWires(bench)) return;
  network_ = std::make_shared<harness::BusNetwork>(bench);
  healthy_ = plant::HearingOf(bench, {});
  FindPlaces();
}

// From the nodes' pins, and from those of the loads of their names, through joints; what leads to
// another device is none of them.
void Unheard::FindPlaces() {
  std::vector<std::string> open;
  const auto add = [&](const std::string& place) {
    if (!places_.insert(place).second) return;
    open.push_back(place);
    if (place.find('.') != std::string::npos) places_.insert(PlugOf(place));
  };
  for (const profile::Bus& bus : bench_.buses) {
    for (const profile::BusNode& node : bus.nodes) {
      add(node.high), add(node.low);
      places_.insert(profile::NodeName(bus, node));
      const int load = profile::IndexOf(bench_.loads, node.name);
      if (load >= 0) add(Nth(bench_.loads, load).plus), add(Nth(bench_.loads, load).minus);
    }
  }
  const auto is_pole = [&](const std::string& place) {
    return std::ranges::any_of(bench_.supplies, [&](const profile::Supply& supply) {
      return supply.plus == place || supply.minus == place;
    });
  };
  for (std::size_t i = 0; i < open.size(); ++i) {
    const std::string here = open[i];
    for (const profile::Wire& wire : bench_.wires) {
      if (wire.from != here && wire.to != here) continue;
      const std::string& far = wire.from == here ? wire.to : wire.from;
      const bool leads_on = profile::IsJoint(bench_, far) || is_pole(far) || places_.contains(far);
      const bool is_own = far.find('.') == std::string::npos || leads_on;
      if (!is_own && here.find('.') == std::string::npos) continue;
      places_.insert(wire.circuit);
      if (is_pole(far)) {
        places_.insert(far);
      } else {
        add(far);
      }
    }
    for (const std::string& behind : profile::BehindPart(bench_, here)) add(behind);
  }
  for (const profile::Relay& relay : bench_.relays) {
    if (places_.contains(relay.common) || places_.contains(relay.normally_open)) {
      places_.insert({relay.name, relay.coil_plus, relay.coil_minus});
    }
  }
}

bool Unheard::Touches(const Fault& f) const {
  return IsOfHarness(f) && (places_.contains(f.at) || places_.contains(f.with));
}

Unheard::Behind Unheard::BehindOf(std::span<const Fault* const> faults) const {
  Behind behind;
  const std::vector<plant::Hearing> hearing = plant::HearingOf(bench_, *network_, faults);
  for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
    for (const profile::Message& message : bench_.buses[b].messages) {
      const plant::Party from = PartyOf(message.sender);
      const bool lost = healthy_[b].Hears(from, plant::Party::kComputer) &&
                        !hearing[b].Hears(from, plant::Party::kComputer);
      if (lost) behind.messages.insert(message.name);
    }
  }
  behind.look = LookBy(bench_, healthy_, hearing);
  return behind;
}

// Who hears whom turns once along a size: what is the same at two sizes is so between them. A
// termination can be too small and too large.
const Unheard::Behind& Unheard::Kept(std::span<const Fault* const> touching) const {
  Key key;
  for (const Fault* f : touching) {
    const auto* open = f->As<fault::Open>();
    const bool is_sought = key.empty() && !f->Is<fault::Termination>();
    key.emplace_back(f->kind.index(), f->at, f->with, is_sought ? 0 : SizeOf(*f),
                     open == nullptr ? 0 : open->wire);
  }
  const int size = SizeOf(*touching.front());
  BySize& known = known_[key];
  const auto above = known.lower_bound(size);
  if (above != known.end() && above->first == size) return above->second;
  if (above != known.end() && above != known.begin()) {
    const auto below = std::prev(above);
    if (below->second == above->second) return below->second;
  }
  return known.emplace(size, BehindOf(touching)).first->second;
}

std::vector<const Fault*> Unheard::Touching(std::span<const Fault> faults) const {
  std::vector<const Fault*> touching;
  for (const Fault& f : faults) {
    if (Touches(f)) touching.push_back(&f);
  }
  return touching;
}

DisplayLook Unheard::LookOf(std::span<const Fault> faults) const {
  const std::vector<const Fault*> touching = Touching(faults);
  return touching.empty() ? DisplayLook::kValues : Kept(touching).look;
}

void Unheard::AddTo(std::vector<Fault>& faults) const {
  const std::vector<const Fault*> touching = Touching(faults);
  if (touching.empty()) return;
  for (const std::string& message : Kept(touching).messages) {
    Fault& missing = faults.emplace_back();
    missing.kind = fault::MessageMissing{};
    missing.at = missing.name = message;
  }
}

bool Unheard::KeepsAny(std::span<const Fault> faults) const {
  std::vector<Fault> with(faults.begin(), faults.end());
  AddTo(with);
  return with.size() > faults.size();
}

DisplayHeard::DisplayHeard(const Bench& bench, std::span<const Reading> readings,
                           const std::vector<std::vector<double>>& observed,
                           std::optional<DisplayLook> look) {
  bool heard_controller = false;
  for (std::size_t r = 0; r < readings.size(); ++r) {
    const profile::SignalRef& at = readings[r].signal;
    const profile::Message& message = profile::MessageAt(bench, {at.bus, at.message});
    for (const auto& row : observed) {
      heard_controller = heard_controller ||
                         (message.sender == profile::Sender::kController && !std::isnan(row[r]));
    }
    if (message.sender != profile::Sender::kDisplay) continue;
    if (profile::IndexOf(Nth(bench.buses, at.bus).nodes, "display") < 0) continue;
    bool& came = came_[message.name];
    for (const auto& row : observed) came = came || !std::isnan(row[r]);
  }
  if (heard_controller || look == DisplayLook::kDark) look_ = look;
}

std::string MarkOf(DisplayLook look) { return std::string("display: ") + Name(look); }

bool DisplayHeard::HasLook(const std::set<std::string>& missing) const {
  if (!look_) return true;
  if (*look_ != DisplayLook::kValues) return missing.contains(MarkOf(*look_));
  return !missing.contains(MarkOf(DisplayLook::kDark)) &&
         !missing.contains(MarkOf(DisplayLook::kDashes));
}

int DisplayHeard::Unexplained(const std::set<std::string>& missing) const {
  const auto messages = std::ranges::count_if(came_, [&](const auto& message) {
    return message.second == missing.contains(message.first);
  });
  return static_cast<int>(messages) + (HasLook(missing) ? 0 : 1);
}

double DisplayHeard::LogLike(const std::set<std::string>& missing) const {
  return -kUnexplained * std::min(kMostUnexplained, Unexplained(missing));
}

bool DisplayHeard::Alike(const std::set<std::string>& a, const std::set<std::string>& b) const {
  return HasLook(a) == HasLook(b) && std::ranges::all_of(came_, [&](const auto& message) {
    return a.contains(message.first) == b.contains(message.first);
  });
}

}  // namespace drycrank::diagnose
