// SPDX-License-Identifier: Apache-2.0
//
// Could a controller find its place with the wheels that have been set in it? The crank's pattern
// must look different from every two places of a turn; where it is even, a second trigger must tell
// its teeth apart; on a four-stroke the second trigger must tell the two turns apart.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "proofread/built_edges.h"
#include "proofread/told.h"
#include "proofread/wheel_words.h"
#include "standin/pattern.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

using profile::TriggerChannel;

// What is set in it, and how it looks to the controller.
struct Told {
  const profile::Controller& controller;
  const TriggerChannel& crank;
  standin::Pattern pattern;
  int twin = -1;  // a place of the turn that looks like the first

  bool has_gap() const { return pattern.has_gap() || pattern.single_position(); }
  double ApartDeg() const {
    return std::abs(WrapSignedDeg(pattern.position_deg(twin) - pattern.position_deg(0), 360));
  }
  double WindowDeg(const TriggerChannel& cam) const {
    if (twin < 0) return cam.window_deg;
    return std::min(cam.window_deg, ApartDeg() / 2);
  }
};

Told ToldIn(const profile::Bench& bench) {
  const profile::Controller& k = *bench.controller;
  const TriggerChannel& primary = Nth(k.triggers, k.decoder.primary);
  Told told{k, primary,
            standin::Pattern(primary, bench.engine.cycle_deg(), k.decoder.ratio_tolerance)};
  told.twin = told.pattern.Twin();
  return told;
}

// A wheel that looks the same elsewhere in the turn, and nothing else is told.
void CompareTeeth(const Told& told, Compared& out) {
  const std::string looks = told.has_gap()
                                ? fmt::format("looks the same {:g} deg further on", told.ApartDeg())
                                : "has no gap";
  out.disagreements.push_back(
      {told.crank.written.Of("wheel", told.crank.place),
       fmt::format("trigger channel '{}': a wheel of {} {}, and no second trigger is told, so the "
                   "position cannot be known",
                   told.crank.name, WheelWords(told.crank.wheel), looks),
       "name a second trigger under 'cams' of the decoder, or a wheel whose gaps differ"});
}

// Of four strokes a crank alone tells the position to a turn.
void CompareTurns(const Told& told, Compared& out) {
  const profile::Decoder& decoder = told.controller.decoder;
  if (told.pattern.cycle_deg() <= 360 || told.crank.shaft != profile::Shaft::kCrank) return;
  if (decoder.firing == profile::Firing::kPaired) {
    if (decoder.written.Has("firing")) return;
    out.not_compared.push_back(
        {decoder.place,
         "the two turns of a cycle: no second trigger is told, so it is taken to fire in pairs",
         "name one under 'cams' of the decoder, or write firing: paired"});
    return;
  }
  out.disagreements.push_back(
      {decoder.written.Of("firing", decoder.place),
       "the controller is told to fire each cylinder once in a cycle, and no second trigger tells "
       "the two turns apart, so it never fires",
       "name a second trigger under 'cams' of the decoder, or write firing: paired"});
}

// Does a cam that is `shift_deg` further on look the same, each of its edges in the window of one?
bool CamFitsTurned(const Told& told, const TriggerChannel& cam, double shift_deg) {
  const double cycle_deg = told.pattern.cycle_deg(), window_deg = told.WindowDeg(cam);
  return FitsTurned(standin::ActiveEdgesDeg(cam, cycle_deg), shift_deg, window_deg, cycle_deg) &&
         FitsTurned(standin::OtherEdgesDeg(cam, cycle_deg), shift_deg, window_deg, cycle_deg);
}

void CompareCam(const Told& told, const TriggerChannel& cam, Compared& out) {
  for (int b = 1; b < told.pattern.size(); ++b) {
    const double shift_deg = told.pattern.position_deg(b) - told.pattern.position_deg(0);
    const bool a_turn = told.pattern.SamePosition(0, b);
    const bool alike = told.twin >= 0 && told.pattern.LookAlike(0, b);
    if ((!a_turn && !alike) || !CamFitsTurned(told, cam, shift_deg)) continue;
    const bool widths = cam.conditioning == profile::Conditioning::kThreshold && !cam.both_edges;
    out.disagreements.push_back(
        {cam.written.Of("window_deg", cam.place),
         fmt::format("trigger channel '{}': with a window of {:g} deg each of its edges is also "
                     "expected {:g} deg further on, so {} cannot be told apart",
                     cam.name, told.WindowDeg(cam), shift_deg,
                     a_turn ? "the two turns of a cycle" : "the teeth of the crank"),
         fmt::format("a narrower window, a wheel whose teeth stand unevenly{}",
                     widths ? ", or both_edges where their widths differ" : "")});
    return;
  }
}

}  // namespace

void TellApart(const profile::Bench& bench, Compared& out) {
  const profile::Controller& k = *bench.controller;
  if (k.triggers.empty()) return;
  const Told told = ToldIn(bench);
  if (told.pattern.size() == 0) return;
  if (!k.decoder.cams.empty()) return CompareCam(told, Nth(k.triggers, k.decoder.cams[0]), out);
  if (told.twin >= 0) return CompareTeeth(told, out);
  CompareTurns(told, out);
}

}  // namespace drycrank::proofread
