// SPDX-License-Identifier: Apache-2.0
//
// Coils and injectors: each cylinder has its own, and each of them its cylinder. A bench may wire
// some injectors of many; a coil that is left out is not fired, and that is said. With paired
// firing one coil may serve two cylinders. Which plug of a rotor a coil fires only its names say:
// those of the output, of its load and of the plug at it.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

#include "proofread/told.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

using profile::ControllerOutput;
using profile::OutputKind;
using Outputs = std::vector<const ControllerOutput*>;

Outputs OfKind(const profile::Controller& controller, OutputKind kind) {
  Outputs found;
  for (const ControllerOutput& output : controller.outputs) {
    if (output.kind == kind) found.push_back(&output);
  }
  return found;
}

Outputs OfCylinder(const Outputs& outputs, int cylinder) {
  Outputs found;
  std::ranges::copy_if(outputs, std::back_inserter(found),
                       [&](const auto* output) { return output->cylinder == cylinder; });
  return found;
}

const char* Words(OutputKind kind) {
  if (kind == OutputKind::kInjector) return "injector";
  return kind == OutputKind::kIgnition ? "coil" : "trailing coil";
}

// Those that do not say whose they are, where others do.
void NameUnsaid(const Outputs& outputs, Compared& out) {
  const Outputs unsaid = OfCylinder(outputs, 0);
  if (unsaid.size() == outputs.size()) return;
  for (const ControllerOutput* output : unsaid) {
    out.disagreements.push_back(
        {output->place,
         fmt::format("output '{}' is a {} of no cylinder; the others say whose they are",
                     output->name, Words(output->kind)),
         "write its cylinder, as cylinder: 1"});
  }
}

Diagnostic Twice(const Outputs& two, int without) {
  return {two[1]->place,
          fmt::format("outputs '{}' and '{}' are both the {} of cylinder {}, and cylinder {} has "
                      "none",
                      two[0]->name, two[1]->name, Words(two[1]->kind), two[1]->cylinder, without),
          fmt::format("write cylinder: {} at the one that is its", without)};
}

Diagnostic Missing(const ControllerOutput& other, int without) {
  return {other.place,
          fmt::format("output '{}' is the {} of cylinder {}, and no output is that of cylinder {}: "
                      "nothing fires there",
                      other.name, Words(other.kind), other.cylinder, without),
          fmt::format("write the output with cylinder: {}, and fitted: false if it is not there",
                      without)};
}

void NameWithout(const profile::Bench& bench, const Outputs& outputs, Compared& out) {
  std::vector<int> order = bench.engine.firing_order;
  std::ranges::sort(order);
  const bool each = outputs.front()->kind != OutputKind::kInjector &&
                    bench.controller->decoder.firing == profile::Firing::kSequential;
  const auto doubled = std::ranges::find_if(
      order, [&](int cylinder) { return OfCylinder(outputs, cylinder).size() > 1; });
  for (const int cylinder : order) {
    if (!OfCylinder(outputs, cylinder).empty()) continue;
    if (doubled != order.end()) {
      out.disagreements.push_back(Twice(OfCylinder(outputs, *doubled), cylinder));
    } else if (each && OfCylinder(outputs, 0).empty()) {
      out.disagreements.push_back(Missing(*outputs.front(), cylinder));
    }
  }
}

void NameNoTrailing(const profile::Bench& bench, Compared& out) {
  const profile::Controller& controller = *bench.controller;
  if (!controller.decoder.trailing_deg) return;
  if (OfKind(controller, OutputKind::kIgnition).empty()) return;
  if (!OfKind(controller, OutputKind::kTrailingIgnition).empty()) return;
  out.disagreements.push_back(
      {controller.decoder.written.Of("trailing_deg", controller.decoder.place),
       "the controller is told of trailing coils, and no output is one",
       "write their outputs with kind: trailing_ignition, or leave trailing_deg out"});
}

bool Says(std::string text, std::string_view word) {
  std::ranges::transform(text, text.begin(), [](unsigned char c) { return std::tolower(c); });
  return text.find(word) != std::string::npos;
}

// Of what drives a coil nothing but names says which plug it is.
std::string NamesOf(const profile::Bench& bench, const ControllerOutput& output) {
  std::string names = output.name + " " + output.label;
  if (output.load < 0) return names;
  const profile::Load& load = Nth(bench.loads, output.load);
  names += " " + load.name;
  const std::string& minus = load.minus;
  const int plug = profile::IndexOf(bench.connectors, minus.substr(0, minus.find('.')));
  return plug < 0 ? names : names + " " + Nth(bench.connectors, plug).label;
}

// Leading and trailing coils in each other's place, where both are told.
void NameOtherPlug(const profile::Bench& bench, OutputKind kind, Compared& out) {
  const bool leading = kind == OutputKind::kIgnition;
  for (const ControllerOutput* output : OfKind(*bench.controller, kind)) {
    const std::string names = NamesOf(bench, *output);
    const bool other = Says(names, leading ? "trailing" : "leading");
    if (!other || Says(names, leading ? "leading" : "trailing")) continue;
    out.disagreements.push_back(
        {output->place,
         fmt::format("output '{}' is by its names the {} coil of cylinder {}, and the controller "
                     "is told that it is the {} one",
                     output->name, leading ? "trailing" : "leading", output->cylinder,
                     leading ? "leading" : "trailing"),
         fmt::format("write kind: {}, or name it as it is wired",
                     leading ? "trailing_ignition" : "ignition")});
  }
}

void NameOtherPlugs(const profile::Bench& bench, Compared& out) {
  const profile::Controller& controller = *bench.controller;
  const bool both = !OfKind(controller, OutputKind::kIgnition).empty() &&
                    !OfKind(controller, OutputKind::kTrailingIgnition).empty();
  if (!both) return;
  NameOtherPlug(bench, OutputKind::kIgnition, out);
  NameOtherPlug(bench, OutputKind::kTrailingIgnition, out);
}

}  // namespace

void CompareOutputs(const profile::Bench& bench, Compared& out) {
  for (const OutputKind kind :
       {OutputKind::kIgnition, OutputKind::kTrailingIgnition, OutputKind::kInjector}) {
    const Outputs outputs = OfKind(*bench.controller, kind);
    if (outputs.empty()) continue;
    NameUnsaid(outputs, out);
    if (OfCylinder(outputs, 0).size() < outputs.size()) NameWithout(bench, outputs, out);
  }
  NameNoTrailing(bench, out);
  NameOtherPlugs(bench, out);
}

}  // namespace drycrank::proofread
