// SPDX-License-Identifier: Apache-2.0
//
// Strokes, firing order and designed advance: the engine against the controller's decoder.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

#include "proofread/told.h"

namespace drycrank::proofread {
namespace {

using profile::Decoder;
using profile::Engine;

constexpr double kSameAngleDeg = 0.01;

void CompareStrokes(const Engine& engine, const Decoder& told, Compared& out) {
  if (told.strokes == engine.strokes) return;
  out.disagreements.push_back(
      {told.written.Of("strokes", told.place),
       fmt::format("the controller is told {} strokes; the engine has {} ({})", told.strokes,
                   engine.strokes, At(engine.written.Of("strokes", engine.place))),
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
  out.disagreements.push_back(
      {told.written.Of("advance_deg", told.place),
       fmt::format("the controller is told {:g} deg of ignition advance; the engine was designed "
                   "for {:g} ({}): each spark comes {:g} deg too {}",
                   told.advance_deg, *engine.advance_deg,
                   At(engine.written.Of("advance_deg", engine.place)), std::abs(more_deg),
                   more_deg > 0 ? "early" : "late"),
       fmt::format("set {:g} in the controller, or correct the engine", *engine.advance_deg)});
}

}  // namespace

void CompareEngine(const profile::Bench& bench, Compared& out) {
  const Decoder& told = bench.controller->decoder;
  CompareStrokes(bench.engine, told, out);
  CompareOrder(bench.engine, told, out);
  CompareAdvance(bench.engine, told, out);
}

}  // namespace drycrank::proofread
