// SPDX-License-Identifier: Apache-2.0
//
// Trigger wheels with their pickups.
#include <fmt/format.h>

#include "profile/kinds.h"
#include "profile/load_bench.h"
#include "types/limits.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

void Read(BenchContext& c, Reader& r, HallPickup& hall) { ReadHall(c, r, true, &hall); }

void Read(BenchContext& c, Reader& r, VariableReluctancePickup& coil) {
  coil.plus = TakeTerminal(c, r, "plus");
  coil.minus = TakeTerminal(c, r, "minus");
  r.Get("coil_ohm", &coil.coil_ohm, {"ohm", 1, 1e5});
  r.Get("peak_v", &coil.peak_v, {"V", 0.001, 200});
  r.Get("peak_at_rpm", &coil.peak_at_rpm, {"rpm", 1, 20000});
  r.Get("noise_v", &coil.noise_v, {"V", 0, 10});
}

void LoadPickup(BenchContext& c, const Node& node, const std::string& title, Pickup* pickup) {
  Reader r(c.problems, node, "pickup of " + title);
  r.Require("kind", "kind: hall");
  const int kind = r.WordIndex("kind", WordsOf<Pickup>());
  if (kind < 0) {
    r.PassOverOtherKeys();
    return;
  }
  *pickup = KindAt<Pickup>(kind);
  std::visit([&](auto& of) { Read(c, r, of); }, *pickup);
}

void ReadAdvance(BenchContext& c, Reader& r, Trigger& t) {
  const auto ref = r.GetRef("advance");
  if (!ref) return;
  t.advance_stimulus = Resolve(c.problems, *ref, NamesOf(c.bench.stimuli), "stimulus");
  if (t.shaft == Shaft::kCrank) {
    r.Complain("advance", "a crank wheel with an advance", "only cams are advanced; leave it out");
  }
  if (t.advance_stimulus < 0) return;
  const auto& stimulus = Nth(c.bench.stimuli, t.advance_stimulus);
  if (stimulus.unit != "deg") {
    r.Complain("advance", fmt::format("stimulus '{}' is in '{}'", stimulus.name, stimulus.unit),
               "name a stimulus with unit: deg");
  }
}

Trigger LoadTrigger(BenchContext& c, const std::string& name, const Place& place,
                    const Node& node) {
  Trigger t;
  t.name = name;
  t.label = name;
  t.place = place;
  Reader r(c.problems, node, fmt::format("trigger '{}'", name), place);
  r.Require("wheel", "wheel: {teeth: 60, missing: [59, 60]}");
  r.Require("pickup", "pickup: {kind: hall, supply: CMP.1, ground: CMP.2, signal: CMP.3}");
  r.GetText("label", &t.label);
  r.GetWord("shaft", &t.shaft, {{"crank", Shaft::kCrank}, {"cam", Shaft::kCam}});
  r.Get("offset_deg", &t.offset_deg, {"deg", 0, 720});
  if (t.offset_deg >= 720) t.offset_deg -= 720;
  if (t.shaft == Shaft::kCam && c.bench.engine.strokes == 2) {
    r.Complain("shaft", "a cam on a two-stroke engine", "write shaft: crank");
  }
  r.Get("fitted", &t.fitted);
  ReadAdvance(c, r, t);
  if (const Node* wheel = r.Find("wheel")) LoadWheel(c.problems, *wheel, r.title(), &t.wheel);
  if (const Node* pickup = r.Find("pickup")) LoadPickup(c, *pickup, r.title(), &t.pickup);
  return t;
}

}  // namespace

void ReadHall(BenchContext& c, Reader& r, bool with_tooth, HallPickup* hall) {
  hall->supply = TakeTerminal(c, r, "supply");
  hall->ground = TakeTerminal(c, r, "ground");
  hall->signal = TakeTerminal(c, r, "signal");
  if (with_tooth) r.Get("low_at_tooth", &hall->low_at_tooth);
  r.Get("on_ohm", &hall->on_ohm, {"ohm", 0.01, 1e5});
  r.Get("off_ohm", &hall->off_ohm, {"ohm", 1e3, 1e12});
  r.Get("supply_ohm", &hall->supply_ohm, {"ohm", 1, 1e9});
  r.Get("min_supply_v", &hall->min_supply_v, {"V", 0, 60});
  r.Get("diode_v", &hall->diode_v, {"V", 0.1, 5});
  if (hall->on_ohm >= hall->off_ohm) {
    r.Complain("on_ohm", "the output conducts no better on than off", "write on_ohm below off_ohm");
  }
}

void LoadTriggers(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'triggers'",
            [&](const std::string& name, const Place& place, const Node& data) {
              c.bench.triggers.push_back(LoadTrigger(c, name, place, data));
            });
  if (c.bench.triggers.size() > kMaxTriggers) {
    c.problems.Add(node->Where(), fmt::format("{} triggers", c.bench.triggers.size()),
                   fmt::format("at most {}", kMaxTriggers));
  }
}

}  // namespace drycrank::profile
