// SPDX-License-Identifier: Apache-2.0
//
// The controller's terminals, its value channels and its decoder.
#include <fmt/format.h>

#include <algorithm>

#include "profile/controller_values.h"
#include "profile/load_bench.h"

namespace drycrank::profile {
namespace {

void LoadReferences(BenchContext& c, const Node* node, Controller& k) {
  EachItem(c.problems, node, "'references'", [&](const Node& item) {
    ReferenceOutput out;
    Reader r(c.problems, item, "reference output");
    out.terminal = TakeTerminal(c, r, "terminal");
    r.Get("voltage_v", &out.voltage_v, {"V", 0.5, 15});
    r.Get("series_ohm", &out.series_ohm, {"ohm", 1e-4, 1e4});
    k.references.push_back(std::move(out));
  });
}

void LoadInputs(BenchContext& c, const Node* node, Controller& k) {
  EachItem(c.problems, node, "'inputs'", [&](const Node& item) {
    InputCircuit input;
    input.place = item.Where();
    Reader r(c.problems, item, "input");
    input.terminal = TakeTerminal(c, r, "terminal");
    if (r.Find("minus") != nullptr) input.minus = TakeTerminal(c, r, "minus");
    if (r.Get("pull_up_ohm", &input.pull_up_ohm, {"ohm", 0, 1e9}) && input.pull_up_ohm > 0 &&
        input.pull_up_ohm < 1) {
      r.Complain("pull_up_ohm", fmt::format("a pull-up of {:g} ohm", input.pull_up_ohm),
                 "1 ohm or more, or 0: none");
    }
    r.Get("pull_up_v", &input.pull_up_v, {"V", 0, 60});
    r.Get("input_ohm", &input.input_ohm, {"ohm", 1, 1e12});
    k.inputs.push_back(std::move(input));
  });
}

// The terminal of a channel: one of the controller's inputs.
std::string InputTerminal(BenchContext& c, Reader& r, const Controller& k) {
  if (!r.Require("terminal", "terminal: ECU.20")) return {};
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
              a.terminal = InputTerminal(c, r, k);
              r.Require("unit", "unit: degC");
              r.Require("value_at_volts", "value_at_volts: [[0.5, 0], [4.5, 100]]");
              r.GetUnit("unit", &a.unit);
              r.GetPoints("value_at_volts", &a.value_at_volts, {"V", -60, 60}, {a.unit});
              r.Get("ratiometric", &a.ratiometric);
              r.Get("low_v", &a.low_v, {"V", -60, 60});
              r.Get("high_v", &a.high_v, {"V", -60, 60});
              CheckThresholds(r, a.low_v, a.high_v);
              r.Get("fault_delay_ms", &a.fault_delay_ms, {"ms", 0, 60000});
              r.Get("fallback", &a.fallback, {a.unit});
              r.Get("filter_ms", &a.filter_ms, {"ms", 0, 60000});
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
              f.terminal = InputTerminal(c, r, k);
              r.Require("unit", "unit: km/h");
              r.GetUnit("unit", &f.unit);
              r.Get("high_v", &f.high_v, {"V", -60, 60});
              r.Get("low_v", &f.low_v, {"V", -60, 60});
              CheckThresholds(r, f.low_v, f.high_v);
              const bool by_hz = r.Find("value_at_hz") != nullptr;
              const bool by_width = r.Find("value_at_low_ms") != nullptr;
              r.GetPoints("value_at_hz", &f.value_at_hz, {"Hz", 0, 1e6}, {f.unit});
              r.GetPoints("value_at_low_ms", &f.value_at_low_ms, {"ms", 0, 1e5}, {f.unit});
              if (by_hz == by_width && r.is_map()) {
                c.problems.Add(
                    place, fmt::format("{} has {}", r.title(), by_hz ? "two tables" : "no table"),
                    "write either value_at_hz or value_at_low_ms");
              }
              r.Get("timeout_ms", &f.timeout_ms, {"ms", 1, 60000});
              r.Get("fallback", &f.fallback, {f.unit});
              r.Get("zero_is_valid", &f.zero_is_valid);
              k.frequency.push_back(std::move(f));
            });
}

void ReadConditioning(Reader& r, TriggerChannel& t) {
  r.GetWord(
      "conditioning", &t.conditioning,
      {{"threshold", Conditioning::kThreshold}, {"zero_crossing", Conditioning::kZeroCrossing}});
  if (t.conditioning == Conditioning::kZeroCrossing) {
    r.Get("arm_v", &t.arm_v, {"V", 0.001, 60});
    return;
  }
  r.Get("high_v", &t.high_v, {"V", -60, 60});
  r.Get("low_v", &t.low_v, {"V", -60, 60});
  CheckThresholds(r, t.low_v, t.high_v);
}

void LoadTriggerChannels(BenchContext& c, const Node* node, Controller& k) {
  EachNamed(c.problems, node, "'triggers'",
            [&](const std::string& name, const Place& place, const Node& data) {
              TriggerChannel t;
              t.name = name;
              t.place = place;
              Reader r(c.problems, data, fmt::format("trigger channel '{}'", name), place);
              t.terminal = InputTerminal(c, r, k);
              ReadConditioning(r, t);
              r.GetWord("edge", &t.edge,
                        {{"rising", ActiveEdge::kRising}, {"falling", ActiveEdge::kFalling}});
              r.GetWord("shaft", &t.shaft, {{"crank", Shaft::kCrank}, {"cam", Shaft::kCam}});
              r.GetWord("point", &t.point,
                        {{"begin", ToothPoint::kBegin},
                         {"centre", ToothPoint::kCentre},
                         {"end", ToothPoint::kEnd}});
              r.Get("offset_deg", &t.offset_deg, {"deg", 0, 720});
              if (t.offset_deg >= 720) t.offset_deg -= 720;
              r.Get("window_deg", &t.window_deg, {"deg", 0.1, 360});
              r.Require("wheel", "wheel: {teeth: 60, missing: [59, 60]}");
              if (const Node* wheel = r.Find("wheel")) {
                LoadWheel(c.problems, *wheel, r.title(), &t.wheel);
              }
              k.triggers.push_back(std::move(t));
            });
}

void ReadCams(Reader& r, const Controller& k, Decoder& d) {
  const auto names = NamesOf(k.triggers);
  for (const Ref& ref : r.GetRefs("cams")) {
    const int at = Resolve(r.problems(), ref, names, "trigger channel");
    if (at >= 0 && at == d.primary) {
      r.problems().Add(ref.place, fmt::format("'{}' is the primary wheel", ref.text),
                       "name the other wheels in 'cams'");
    }
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
  ReadFiring(r, &d.strokes, &d.firing_order, &d.firing_angles_deg);
  for (std::size_t i = k.triggers.size(); i-- > 0;) {
    if (k.triggers[i].shaft == Shaft::kCrank) d.primary = static_cast<int>(i);
  }
  if (const auto ref = r.GetRef("primary")) {
    const int at = Resolve(c.problems, *ref, NamesOf(k.triggers), "trigger channel");
    if (at >= 0) d.primary = at;
  }
  ReadCams(r, k, d);
  r.Get("ratio_tolerance", &d.ratio_tolerance, {"", 0.01, 0.95});
  r.Get("stall_ms", &d.stall_ms, {"ms", 1, 60000});
  r.Get("advance_deg", &d.advance_deg, {"deg", -90, 180});
  r.Get("dwell_ms", &d.dwell_ms, {"ms", 0.01, 50});
  r.Get("injection_end_deg", &d.injection_end_deg, {"deg", -720, 720});
  r.Get("injection_ms", &d.injection_ms, {"ms", 0, 200});
  r.Get("rev_limit_rpm", &d.rev_limit_rpm, {"rpm", 0, 20000});
}

void ReadSensorGrounds(BenchContext& c, Reader& r, Controller& k) {
  for (const Ref& ref : r.GetRefs("sensor_grounds")) {
    TakeTerminal(c, ref, r.title());
    k.sensor_grounds.push_back(ref.text);
  }
}

}  // namespace

void LoadController(BenchContext& c, const Node& node) {
  Controller& k = c.bench.controller.emplace();
  k.place = node.Where();
  Reader r(c.problems, node, "the controller");
  k.supply = TakeTerminal(c, r, "supply");
  k.ground = TakeTerminal(c, r, "ground");
  r.Get("supply_ohm", &k.supply_ohm, {"ohm", 0.1, 1e9});
  r.Get("min_supply_v", &k.min_supply_v, {"V", 0, 60});
  r.Get("sample_ms", &k.sample_ms, {"ms", 0.1, 10000});
  ReadSensorGrounds(c, r, k);
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
