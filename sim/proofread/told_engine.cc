// SPDX-License-Identifier: Apache-2.0
//
// Strokes, firing order, designed advance and what its trailing plugs are behind: the engine
// against the controller's decoder.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

#include "proofread/told.h"

namespace drycrank::proofread {
namespace {

using profile::Decoder;
using profile::Engine;

constexpr double kSameAngleDeg = 0.01;

std::string HasStrokes(const Engine& engine) {
  if (engine.kind == profile::EngineKind::kPiston) {
    return fmt::format("the engine has {}", engine.strokes);
  }
  return "each rotor of the engine fires once in every turn, as on 2";
}

void CompareStrokes(const Engine& engine, const Decoder& told, Compared& out) {
  if (told.strokes == engine.strokes) return;
  out.disagreements.push_back(
      {told.written.Of("strokes", told.place),
       fmt::format("the controller is told {} strokes; {} ({})", told.strokes, HasStrokes(engine),
                   At(engine.written.Of("strokes", engine.place))),
       fmt::format("set {} in the controller, or correct the engine", engine.strokes)});
}

bool SameAngles(const std::vector<double>& a, const std::vector<double>& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (std::abs(a[i] - b[i]) > kSameAngleDeg) return false;
  }
  return true;
}

void CompareOrder(const Engine& engine, const Decoder& told, Compared& out) {
  if (!told.written.Has("firing_order")) {
    out.not_compared.push_back(
        {told.place, "the firing order: the controller's is not written, so the engine's is taken",
         "write what has been set as 'firing_order' of the decoder"});
  }
  if (told.firing_order != engine.firing_order) {
    out.disagreements.push_back(
        {told.written.Of("firing_order", told.place),
         fmt::format("the controller is told firing order {}; the engine fires {} ({})",
                     fmt::join(told.firing_order, "-"), fmt::join(engine.firing_order, "-"),
                     At(engine.written.Of("firing_order", engine.place))),
         fmt::format("set {} in the controller, or correct the engine",
                     fmt::join(engine.firing_order, "-"))});
    return;
  }
  // Of other strokes all angles are others; that is said already.
  if (told.strokes != engine.strokes) return;
  if (SameAngles(told.firing_angles_deg, engine.firing_angles_deg)) return;
  out.disagreements.push_back(
      {told.written.Of("firing_angles_deg", told.place),
       fmt::format("the controller is told that the cylinders fire at {:g} deg; the engine's do at "
                   "{:g} deg ({})",
                   fmt::join(told.firing_angles_deg, ", "),
                   fmt::join(engine.firing_angles_deg, ", "),
                   At(engine.written.Of("firing_angles_deg", engine.place))),
       "set the engine's angles in the controller, or correct the engine"});
}

void CompareAdvance(const Engine& engine, const Decoder& told, Compared& out) {
  if (engine.firing_order.empty()) return;
  if (!engine.advance_deg || !told.written.Has("advance_deg")) {
    out.not_compared.push_back(
        {engine.advance_deg ? told.place : engine.place,
         fmt::format("the ignition advance: {}",
                     engine.advance_deg ? "the controller's is not written"
                                        : "what the engine was designed for is not written"),
         fmt::format("write 'advance_deg' of the {}", engine.advance_deg ? "decoder" : "engine")});
    return;
  }
  if (std::abs(told.advance_deg - *engine.advance_deg) <= kSameAngleDeg) return;
  const double more_deg = told.advance_deg - *engine.advance_deg;
  const bool alike = !engine.trailing_deg || told.trailing_deg == engine.trailing_deg;
  out.disagreements.push_back(
      {told.written.Of("advance_deg", told.place),
       fmt::format("the controller is told {:g} deg of ignition advance; the engine was designed "
                   "for {:g} ({}): each {}spark comes {:g} deg too {}",
                   told.advance_deg, *engine.advance_deg,
                   At(engine.written.Of("advance_deg", engine.place)), alike ? "" : "leading ",
                   std::abs(more_deg), more_deg > 0 ? "early" : "late"),
       fmt::format("set {:g} in the controller, or correct the engine", *engine.advance_deg)});
}

// Where the trailing sparks come, against where they are meant: behind leading ones that may be
// wrong as well.
std::string TrailingCome(const Engine& engine, const Decoder& told) {
  double more_deg = *told.trailing_deg - *engine.trailing_deg;
  if (engine.advance_deg && told.written.Has("advance_deg")) {
    more_deg -= told.advance_deg - *engine.advance_deg;
  }
  if (std::abs(more_deg) <= kSameAngleDeg) {
    return "the trailing sparks themselves come where they are meant";
  }
  return fmt::format("each trailing spark comes {:g} deg too {}", std::abs(more_deg),
                     more_deg > 0 ? "late" : "early");
}

// The second plugs, behind the first.
Diagnostic WrongSplit(const Engine& engine, const Decoder& told) {
  return {
      told.written.Of("trailing_deg", told.place),
      fmt::format("the controller is told that trailing plugs fire {:g} deg behind the leading "
                  "ones; the engine was designed for {:g} ({}): {}",
                  *told.trailing_deg, *engine.trailing_deg,
                  At(engine.written.Of("trailing_deg", engine.place)), TrailingCome(engine, told)),
      fmt::format("set {:g} in the controller, or correct the engine", *engine.trailing_deg)};
}

void CompareSplit(const Engine& engine, const Decoder& told, Compared& out) {
  if (told.trailing_deg && engine.trailing_deg) {
    if (std::abs(*told.trailing_deg - *engine.trailing_deg) <= kSameAngleDeg) return;
    out.disagreements.push_back(WrongSplit(engine, told));
  } else if (engine.trailing_deg) {
    out.disagreements.push_back(
        {told.place,
         fmt::format("the controller is told of no trailing coils; the engine has trailing plugs, "
                     "{:g} deg behind the leading ones ({})",
                     *engine.trailing_deg, At(engine.written.Of("trailing_deg", engine.place))),
         fmt::format("write trailing_deg: {:g} of the decoder, or correct the engine",
                     *engine.trailing_deg)});
  } else if (told.trailing_deg) {
    out.not_compared.push_back({engine.place,
                                "how far behind the trailing plugs fire: what the engine was "
                                "designed for is not written",
                                "write 'trailing_deg' of the engine"});
  }
}

// Coils that nothing fires.
void CompareTrailingOutputs(const profile::Controller& controller, Compared& out) {
  if (controller.decoder.trailing_deg) return;
  for (const profile::ControllerOutput& output : controller.outputs) {
    if (output.kind != profile::OutputKind::kTrailingIgnition) continue;
    out.disagreements.push_back(
        {output.place,
         fmt::format("output '{}' is a trailing coil, and the controller is told of none",
                     output.name),
         "write trailing_deg of the decoder, or kind: ignition"});
  }
}

}  // namespace

void CompareEngine(const profile::Bench& bench, Compared& out) {
  const Decoder& told = bench.controller->decoder;
  CompareStrokes(bench.engine, told, out);
  CompareOrder(bench.engine, told, out);
  CompareAdvance(bench.engine, told, out);
  CompareSplit(bench.engine, told, out);
  CompareTrailingOutputs(*bench.controller, out);
}

}  // namespace drycrank::proofread
