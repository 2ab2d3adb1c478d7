// SPDX-License-Identifier: Apache-2.0
//
// The controller's terminals, its value channels and its decoder.
#include <fmt/format.h>

#include <algorithm>

#include "profile/controller_values.h"
#include "profile/keys_controller.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

void LoadReferences(BenchContext& c, const Node* node, Controller& k) {
  EachItem(c.problems, node, "'references'", [&](const Node& item) {
    ReferenceOutput out;
    Reader r(c.problems, item, "reference output");
    TakeAll(r, kReferenceKeys, out, &c);
    k.references.push_back(std::move(out));
  });
}

void LoadInputs(BenchContext& c, const Node* node, Controller& k) {
  EachItem(c.problems, node, "'inputs'", [&](const Node& item) {
    InputCircuit input;
    input.place = item.Where();
    Reader r(c.problems, item, "input");
    TakeAll(r, kInputKeys, input, &c);
    if (input.pull_up_ohm > 0 && input.pull_up_ohm < 1) {
      r.Complain("pull_up_ohm", fmt::format("a pull-up of {:g} ohm", input.pull_up_ohm),
                 "1 ohm or more, or 0: none");
    }
    k.inputs.push_back(std::move(input));
  });
}

// The terminal of a channel: one of the controller's inputs.
std::string InputTerminal(BenchContext& c, Reader& r, const Controller& k) {
  const auto ref = r.GetRef("terminal");
  if (!ref) return {};
  if (!CheckTerminal(c.problems, c.bench, *ref)) return ref->text;
  std::vector<std::string> known;
  for (const InputCircuit& input : k.inputs) known.push_back(input.terminal);
  if (std::find(known.begin(), known.end(), ref->text) == known.end()) {
    c.problems.Add(
        ref->place, fmt::format("terminal '{}' is not an input of the controller", ref->text),
        known.empty() ? "list it in 'inputs'" : fmt::format("inputs: {}", fmt::join(known, ", ")));
  }
  return ref->text;
}

void CheckThresholds(Reader& r, double low_v, double high_v) {
  if (low_v < high_v) return;
  r.Complain("low_v", fmt::format("low_v {:g} V is not below high_v {:g} V", low_v, high_v),
             "swap them");
}

// Left out, a limit is none: a few millivolts below ground are no broken wire.
constexpr double kNoLimitV = 1e9;

// A channel cannot have the name of a value that every controller has.
void CheckOwnName(Problems& problems, const Place& place, const std::string& name) {
  for (const OwnValue& own : OwnValues()) {
    if (name != own.name) continue;
    problems.Add(place, fmt::format("the controller has a value '{}' of its own", name),
                 "give the channel another name");
  }
}

void LoadAnalog(BenchContext& c, const Node* node, Controller& k) {
  EachNamed(c.problems, node, "'analog'",
            [&](const std::string& name, const Place& place, const Node& data) {
              AnalogChannel a;
              a.name = name;
              a.place = place;
              Reader r(c.problems, data, fmt::format("analog channel '{}'", name), place);
              CheckOwnName(c.problems, place, name);
              a.written = r.Written();
              TableReader t(r, kAnalogKeys, a);
              a.terminal = InputTerminal(c, r, k);
              t.Take("unit");
              t.TakeRest(a.unit);
              if (!r.Has("low_v")) a.low_v = -kNoLimitV;
              CheckThresholds(r, a.low_v, a.high_v);
              k.analog.push_back(std::move(a));
            });
}

void LoadFrequency(BenchContext& c, const Node* node, Controller& k) {
  EachNamed(c.problems, node, "'frequency'",
            [&](const std::string& name, const Place& place, const Node& data) {
              FrequencyChannel f;
              f.name = name;
              f.place = place;
              Reader r(c.problems, data, fmt::format("frequency channel '{}'", name), place);
              CheckOwnName(c.problems, place, name);
              if (IndexOf(k.analog, name) >= 0) {
                c.problems.Add(place, fmt::format("an analog channel is called '{}' too", name),
                               "give each value of the controller its own name");
              }
              f.written = r.Written();
              TableReader t(r, kFrequencyChannelKeys, f);
              f.terminal = InputTerminal(c, r, k);
              t.Take("unit");
              t.TakeRest(f.unit);
              CheckThresholds(r, f.low_v, f.high_v);
              const bool by_hz = r.Has("value_at_hz");
              if (by_hz == r.Has("value_at_low_ms") && r.is_map()) {
                c.problems.Add(
                    place, fmt::format("{} has {}", r.title(), by_hz ? "two tables" : "no table"),
                    "write either value_at_hz or value_at_low_ms");
              }
              k.frequency.push_back(std::move(f));
            });
}

void ReadConditioning(Reader& r, TriggerChannel& t) {
  TakeAll(r, kTriggerChannelKeys, t);
  if (t.conditioning == Conditioning::kZeroCrossing) return TakeAll(r, kZeroCrossingKeys, t);
  TakeAll(r, kThresholdKeys, t);
  CheckThresholds(r, t.low_v, t.high_v);
}

// A centre has no other end.
void CheckBothEdges(Reader& r, const TriggerChannel& t) {
  if (!t.both_edges || t.point != ToothPoint::kCentre) return;
  r.Complain("both_edges", "both edges of a tooth, and its centre", "write point: begin or end");
}

void CheckLevel(Reader& r, const TriggerChannel& t) {
  if (!t.by_level) return;
  if (t.shaft != Shaft::kCam) {
    r.Complain("by_level", "a level of a wheel on the crank: it tells no turns apart",
               "write by_level for a channel with 'shaft: cam'");
  } else if (t.point == ToothPoint::kCentre) {
    r.Complain("by_level", "a level, and an edge that stands for a tooth's centre",
               "write point: begin or end");
  }
}

void LoadTriggerChannels(BenchContext& c, const Node* node, Controller& k) {
  EachNamed(c.problems, node, "'triggers'",
            [&](const std::string& name, const Place& place, const Node& data) {
              TriggerChannel t;
              t.name = name;
              t.place = place;
              Reader r(c.problems, data, fmt::format("trigger channel '{}'", name), place);
              t.written = r.Written();
              ReadConditioning(r, t);
              t.terminal = InputTerminal(c, r, k);
              TakeAll(r, kToldWheelKeys, t);
              CheckBothEdges(r, t);
              CheckLevel(r, t);
              CheckRotorShaft(r, t.shaft, c.bench.engine);
              BringOffsetIn(r, t.shaft, &t.offset_deg);
              if (const Node* wheel = r.Find("wheel")) {
                LoadWheel(c.problems, *wheel, r.title(), &t.wheel);
              }
              k.triggers.push_back(std::move(t));
            });
}

// The cycle of a rotary engine is one turn of the crank, a third of the rotor's.
void CheckRotor(Problems& problems, const Ref& ref, const TriggerChannel& channel) {
  if (channel.shaft != Shaft::kRotor || LooksTheSameEachThird(channel.wheel)) return;
  problems.Add(ref.place,
               fmt::format("the wheel of '{}' does not look the same each third of a turn, so it "
                           "tells no place in a cycle of one turn of the crank",
                           ref.text),
               "leave it out of primary and cams");
}

void ReadCams(Reader& r, const Controller& k, Decoder& d) {
  const auto names = NamesOf(k.triggers);
  for (const Ref& ref : r.GetRefs("cams")) {
    const int at = Resolve(r.problems(), ref, names, "trigger channel");
    if (at >= 0 && at == d.primary) {
      r.problems().Add(ref.place, fmt::format("'{}' is the primary wheel", ref.text),
                       "name the other wheels in 'cams'");
    }
    if (at >= 0) CheckRotor(r.problems(), ref, Nth(k.triggers, at));
    if (at >= 0) d.cams.push_back(at);
  }
  if (r.Has("cams")) return;
  for (std::size_t i = 0; i < k.triggers.size(); ++i) {
    if (k.triggers[i].shaft == Shaft::kCam && static_cast<int>(i) != d.primary) {
      d.cams.push_back(static_cast<int>(i));
    }
  }
}

void LoadDecoder(BenchContext& c, const Node& node, Controller& k) {
  Decoder& d = k.decoder;
  Reader r(c.problems, node, "decoder");
  d.place = r.place();
  d.written = r.Written();
  TakeAll(r, kDecoderKeys, d);
  ReadFiring(r, &d.strokes, &d.firing_order, &d.firing_angles_deg);
  for (std::size_t i = k.triggers.size(); i-- > 0;) {
    if (k.triggers[i].shaft == Shaft::kCrank) d.primary = static_cast<int>(i);
  }
  if (const auto ref = r.GetRef("primary")) {
    const int at = Resolve(c.problems, *ref, NamesOf(k.triggers), "trigger channel");
    if (at >= 0) CheckRotor(c.problems, *ref, Nth(k.triggers, at));
    if (at >= 0) d.primary = at;
  }
  ReadCams(r, k, d);
  const bool two_turns =
      d.strokes == 4 && !k.triggers.empty() && Nth(k.triggers, d.primary).shaft == Shaft::kCrank;
  if (!r.Has("firing") && two_turns && PhaseCam(k) < 0) d.firing = Firing::kPaired;
}

std::vector<std::string> ReadPins(BenchContext& c, Reader& r, const char* key) {
  std::vector<std::string> pins;
  for (const Ref& ref : r.GetRefs(key)) {
    TakeTerminal(c, ref, r.title());
    pins.push_back(ref.text);
  }
  return pins;
}

}  // namespace

void LoadController(BenchContext& c, const Node& node) {
  Controller& k = c.bench.controller.emplace();
  k.place = node.Where();
  Reader r(c.problems, node, "the controller");
  TakeAll(r, kControllerKeys, k, &c);
  k.more_supplies = ReadPins(c, r, "more_supplies");
  k.more_grounds = ReadPins(c, r, "more_grounds");
  k.sensor_grounds = ReadPins(c, r, "sensor_grounds");
  LoadReferences(c, r.Find("references"), k);
  LoadInputs(c, r.Find("inputs"), k);
  LoadAnalog(c, r.Find("analog"), k);
  LoadFrequency(c, r.Find("frequency"), k);
  LoadTriggerChannels(c, r.Find("triggers"), k);
  LoadOutputs(c, r.Find("outputs"), k);
  LoadDiagnostics(c, r.Find("diagnostics"), k);
  LoadJ1939(c, r.Find("j1939"), k);
  const Engine& engine = c.bench.engine;
  k.decoder.strokes = engine.strokes;
  k.decoder.firing_order = engine.firing_order;
  k.decoder.firing_angles_deg = engine.firing_angles_deg;
  const Node* decoder = r.Find("decoder");
  Node left_out;
  left_out.kind = NodeKind::kMap;
  left_out.spot = node.spot;
  LoadDecoder(c, decoder == nullptr ? left_out : *decoder, k);
}

}  // namespace drycrank::profile
