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
#include "profile/controller_setup.h"
#include "standin/pattern.h"
#include "standin/references.h"
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
  standin::References references;
  int twin = -1;  // a place of the turn that looks like the first

  bool has_gap() const { return pattern.has_gap() || pattern.single_position(); }
  double ApartDeg() const {
    return std::abs(WrapSignedDeg(pattern.position_deg(twin) - pattern.position_deg(0), 360));
  }
  bool is_a_turn(int place) const { return pattern.SamePosition(0, place); }
  // The channel that should tell apart what is left alike.
  const TriggerChannel& Witness() const {
    const int cam = profile::PhaseCam(controller);
    return Nth(controller.triggers, cam >= 0 ? cam : controller.decoder.cams[0]);
  }
};

Told ToldIn(const profile::Bench& bench) {
  const profile::Controller& k = *bench.controller;
  const TriggerChannel& primary = Nth(k.triggers, k.decoder.primary);
  Told told{k, primary,
            standin::Pattern(primary, bench.engine.cycle_deg(), k.decoder.ratio_tolerance),
            {}};
  told.twin = told.pattern.Twin();
  told.references = standin::FindReferences(k, told.pattern);
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
         "the two turns of a cycle: no second trigger tells them apart, so it is taken to fire in "
         "pairs",
         "name one under 'cams' of the decoder, or write firing: paired"});
    return;
  }
  out.disagreements.push_back(
      {decoder.written.Of("firing", decoder.place),
       "the controller is told to fire each cylinder once in a cycle, and no second trigger tells "
       "the two turns apart, so it never fires",
       "name a second trigger under 'cams' of the decoder, or write firing: paired"});
}

// It looks the same where the crank does.
void CompareWitness(const Told& told, int place, Compared& out) {
  const TriggerChannel& cam = told.Witness();
  const bool widths = cam.conditioning == profile::Conditioning::kThreshold && !cam.both_edges;
  const bool a_turn = told.is_a_turn(place);
  if (cam.by_level) {
    out.disagreements.push_back(
        {cam.written.Of("by_level", cam.place),
         fmt::format("trigger channel '{}': its level does not tell {} apart", cam.name,
                     a_turn ? "the two turns of a cycle" : "the teeth of the crank"),
         a_turn ? "a wheel with a tooth in one turn and none in the other, at one place of the crank"
                : "a trigger on the crank as well, under 'cams' of the decoder"});
    return;
  }
  const double window_deg =
      a_turn ? cam.window_deg : standin::NarrowWindowDeg(told.pattern, cam.window_deg);
  out.disagreements.push_back(
      {cam.written.Of("window_deg", cam.place),
       fmt::format("trigger channel '{}': with a window of {:g} deg each of its edges is also "
                   "expected {:g} deg further on, so {} cannot be told apart",
                   cam.name, window_deg,
                   told.pattern.position_deg(place) - told.pattern.position_deg(0),
                   a_turn ? "the two turns of a cycle" : "the teeth of the crank"),
       fmt::format("a narrower window, a wheel whose teeth stand unevenly{}",
                   widths ? ", or both_edges where their widths differ" : "")});
}

}  // namespace

void TellApart(const profile::Bench& bench, Compared& out) {
  const profile::Controller& k = *bench.controller;
  if (k.triggers.empty()) return;
  const Told told = ToldIn(bench);
  if (told.pattern.size() == 0) return;
  const std::vector<int>& alike = told.references.alike;
  if (alike.empty()) return;
  const bool within_turn = !std::ranges::all_of(alike, [&](int p) { return told.is_a_turn(p); });
  if (k.decoder.cams.empty() && within_turn) return CompareTeeth(told, out);
  if (profile::PhaseCam(k) < 0 && !within_turn) return CompareTurns(told, out);
  if (within_turn || k.decoder.firing == profile::Firing::kSequential) {
    CompareWitness(told, alike.front(), out);
  }
}

}  // namespace drycrank::proofread
