// SPDX-License-Identifier: Apache-2.0
//
// Trigger wheels with their pickups.
#include <fmt/format.h>

#include "profile/keys_triggers.h"
#include "profile/kinds.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "profile/triggers.h"
#include "types/limits.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

void Read(BenchContext& c, Reader& r, HallPickup& hall) { ReadHall(c, r, true, &hall); }

void Read(BenchContext& c, Reader& r, VariableReluctancePickup& coil) {
  TakeAll(r, kCoilKeys, coil, &c);
}

void LoadPickup(BenchContext& c, const Node& node, const std::string& title, Pickup* pickup) {
  Reader r(c.problems, node, "pickup of " + title);
  KnowKeys(r, kPickupKeys);
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

void CheckShaft(Reader& r, Shaft shaft, const Engine& engine) {
  const bool rotary = engine.kind == EngineKind::kRotary;
  if (shaft == Shaft::kCam && engine.strokes == 2) {
    r.Complain("shaft", rotary ? "a cam on a rotary engine" : "a cam on a two-stroke engine",
               rotary ? "write shaft: crank or rotor" : "write shaft: crank");
  }
  CheckRotorShaft(r, shaft, engine);
}

Trigger LoadTrigger(BenchContext& c, const std::string& name, const Place& place,
                    const Node& node) {
  Trigger t;
  t.name = name;
  t.label = name;
  t.place = place;
  Reader r(c.problems, node, fmt::format("trigger '{}'", name), place);
  t.written = r.Written();
  TakeAll(r, kTriggerKeys, t);
  BringOffsetIn(r, t.shaft, &t.offset_deg);
  CheckShaft(r, t.shaft, c.bench.engine);
  ReadAdvance(c, r, t);
  if (const Node* wheel = r.Find("wheel")) LoadWheel(c.problems, *wheel, r.title(), &t.wheel);
  if (const Node* pickup = r.Find("pickup")) LoadPickup(c, *pickup, r.title(), &t.pickup);
  return t;
}

}  // namespace

void CheckRotorShaft(Reader& r, Shaft shaft, const Engine& engine) {
  if (shaft != Shaft::kRotor || engine.kind == EngineKind::kRotary) return;
  r.Complain("shaft", "a rotor on an engine of pistons",
             "write shaft: crank or cam, or kind: rotary for the engine");
}

void BringOffsetIn(Reader& r, Shaft shaft, double* offset_deg) {
  const double most_deg = shaft == Shaft::kRotor ? kRotorTurnDeg : 720;
  if (*offset_deg > most_deg) {
    r.Complain("offset_deg", fmt::format("an offset of {:g} deg", *offset_deg), "write 0 to 720 deg");
  }
  if (*offset_deg >= most_deg) *offset_deg -= most_deg;
}

void ReadHall(BenchContext& c, Reader& r, bool with_tooth, HallPickup* hall) {
  TakeAll(r, kHallKeys, *hall, &c);
  if (with_tooth) TakeAll(r, kToothKeys, *hall);
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
