// SPDX-License-Identifier: Apache-2.0
//
// What the controller switches: its output terminals with their loads, how each is made to act and
// by what its circuit is proven.
#include <fmt/format.h>

#include "profile/keys_controller.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

// An output that the controller watches has its terminal among the inputs as well.
bool IsInput(const Controller& k, const std::string& terminal) {
  for (const InputCircuit& input : k.inputs) {
    if (input.terminal == terminal || input.minus == terminal) return true;
  }
  return false;
}

std::string OutputTerminal(BenchContext& c, Reader& r, const Controller& k) {
  const auto ref = r.GetRef("terminal");
  if (!ref) return {};
  if (!IsInput(k, ref->text)) TakeTerminal(c, *ref, r.title());
  return ref->text;
}

void ReadDrivenBy(BenchContext& c, Reader& outer, ControllerOutput& out) {
  const Node* node = outer.Find("driven_by");
  if (node == nullptr) return;
  if (node->kind != NodeKind::kMap) {
    c.problems.Add(node->Where(), std::string("'driven_by' is ") + KindName(*node),
                   "write stimuli with their values, as {coolant_temperature: 105 degC}");
    return;
  }
  for (const Entry& entry : node->entries) {
    const int at = Resolve(c.problems, {entry.key, entry.key_spot.Where()},
                           NamesOf(c.bench.stimuli), "stimulus");
    if (at < 0) continue;
    const Stimulus& s = Nth(c.bench.stimuli, at);
    const auto value =
        ReadNumber(c.problems, entry.value, fmt::format("'{}'", entry.key), {s.unit, s.min, s.max});
    if (value) out.driven_by.emplace_back(at, *value);
  }
}

void ReadSignalWitness(BenchContext& c, Reader& r, const Ref& ref, ControllerOutput& out) {
  out.witness = OutputWitness::kBus;
  out.signal = ref.text;
  const SignalRef at = FindSignal(c.bench, ref.text);
  if (at.signal < 0) {
    c.problems.AddReference(ref.place, fmt::format("there is no signal '{}'", ref.text),
                            "write operator, capture, or a signal of a message, as "
                            "actuators.fan_driver");
    return;
  }
  TakeAll(r, kWatchedOutputKeys, out, nullptr, SignalAt(c.bench, at).unit);
  if (!out.above && !out.below) {
    r.Complain("proved_by", "a signal and no bounds",
               "write where it lies when the circuit is whole, as 'above: 8'");
  } else if (out.above && out.below && *out.above >= *out.below) {
    r.Complain("above", "'above' is not below 'below'", "swap them");
  }
}

void ReadWitness(BenchContext& c, Reader& r, ControllerOutput& out) {
  const auto ref = r.GetRef("proved_by");
  if (!ref || ref->text == "operator") {
    TakeAll(r, kAskedOutputKeys, out);
    if (out.question.empty()) out.question = fmt::format("Does this act: {}?", out.label);
    return;
  }
  if (ref->text == "capture") {
    out.witness = OutputWitness::kCapture;
    return;
  }
  ReadSignalWitness(c, r, *ref, out);
}

void CheckCylinder(const Engine& engine, Reader& r, int cylinder) {
  const std::size_t most = engine.firing_order.size();
  if (most == 0 || AsSize(cylinder) <= most) return;
  r.Complain("cylinder", fmt::format("cylinder {} of an engine of {}", cylinder, most),
             most == 1 ? "write 1" : fmt::format("write 1 to {}", most));
}

void ReadLoad(BenchContext& c, Reader& r, ControllerOutput& out) {
  if (const auto ref = r.GetRef("load")) {
    out.load = Resolve(c.problems, *ref, NamesOf(c.bench.loads), "load");
  }
}

}  // namespace

void LoadOutputs(BenchContext& c, const Node* node, Controller& k) {
  EachNamed(c.problems, node, "'outputs'",
            [&](const std::string& name, const Place& place, const Node& data) {
              ControllerOutput out;
              out.name = name;
              out.label = name;
              out.place = place;
              Reader r(c.problems, data, fmt::format("output '{}'", name), place);
              TakeAll(r, kOutputKeys, out);
              CheckCylinder(c.bench.engine, r, out.cylinder);
              out.terminal = OutputTerminal(c, r, k);
              ReadLoad(c, r, out);
              ReadDrivenBy(c, r, out);
              ReadWitness(c, r, out);
              TakeAll(r, kFittedOutputKeys, out);
              k.outputs.push_back(std::move(out));
            });
}

}  // namespace drycrank::profile
