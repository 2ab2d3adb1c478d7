// SPDX-License-Identifier: Apache-2.0
//
// Could a controller find its place with the wheels that have been set in it? The crank's pattern
// must look different from every two places of a turn; where it is even, a second trigger must tell
// its teeth apart; on a four-stroke the second trigger must tell the two turns apart.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "proofread/told.h"
#include "proofread/wheel_words.h"
#include "standin/pattern.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

using profile::TriggerChannel;

// Does a turn that passes place `a` look, interval by interval, like one that passes `b`?
bool LookAlike(const standin::Pattern& pattern, int a, int b) {
  for (int i = 0, pa = a, pb = b; i < pattern.size(); ++i) {
    if (!pattern.Allows(pb, pattern.ExpectedRatio(pa))) return false;
    pa = pattern.Next(pa);
    pb = pattern.Next(pb);
  }
  return true;
}

// Another place of the turn that looks like the first; -1: none.
int Double(const standin::Pattern& pattern) {
  for (int b = 1; b < pattern.size(); ++b) {
    if (!pattern.SamePosition(0, b) && LookAlike(pattern, 0, b)) return b;
  }
  return -1;
}

// Turned by `shift_deg`, does every edge still lie within the window of one?
bool FitsTurned(const std::vector<double>& edges_deg, double shift_deg, double window_deg,
                double cycle_deg) {
  return std::all_of(edges_deg.begin(), edges_deg.end(), [&](double edge) {
    return std::any_of(edges_deg.begin(), edges_deg.end(), [&](double other) {
      return std::abs(WrapSignedDeg(edge + shift_deg - other, cycle_deg)) <= window_deg;
    });
  });
}

void CompareTeeth(const standin::Pattern& crank, const TriggerChannel& channel, Compared& out) {
  const int twin = Double(crank);
  if (twin < 0) return;
  const double apart_deg =
      std::abs(WrapSignedDeg(crank.position_deg(twin) - crank.position_deg(0), 360));
  out.disagreements.push_back(
      {channel.written.Of("wheel", channel.place),
       fmt::format("trigger channel '{}': a wheel of {} looks the same {:g} deg further on, so the "
                   "position cannot be known",
                   channel.name, WheelWords(channel.wheel), apart_deg),
       "a wheel whose gaps differ, or a smaller ratio_tolerance"});
}

struct Second {
  const TriggerChannel& channel;
  std::vector<double> edges_deg;
  double window_deg;
};

void CompareSecond(const standin::Pattern& crank, const Second& second, Compared& out) {
  const bool even = !crank.has_gap() && !crank.single_position();
  for (int b = 1; b < crank.size(); ++b) {
    const double shift_deg = crank.position_deg(b) - crank.position_deg(0);
    const bool a_turn = crank.SamePosition(0, b);
    if (!even && !a_turn) continue;
    if (!FitsTurned(second.edges_deg, shift_deg, second.window_deg, crank.cycle_deg())) continue;
    out.disagreements.push_back(
        {second.channel.written.Of("window_deg", second.channel.place),
         fmt::format("trigger channel '{}': with a window of {:g} deg each of its edges is also "
                     "expected {:g} deg further on, so {} cannot be told apart",
                     second.channel.name, second.window_deg, shift_deg,
                     a_turn ? "the two turns of a cycle" : "the teeth of the crank"),
         "a narrower window, or a wheel whose teeth stand unevenly"});
    return;
  }
}

}  // namespace

void TellApart(const profile::Bench& bench, Compared& out) {
  const profile::Controller& k = *bench.controller;
  if (k.triggers.empty()) return;
  const double cycle_deg = bench.engine.cycle_deg();
  const TriggerChannel& primary = Nth(k.triggers, k.decoder.primary);
  const standin::Pattern crank(primary, cycle_deg, k.decoder.ratio_tolerance);
  if (crank.size() == 0) return;
  const bool even = !crank.has_gap() && !crank.single_position();
  if (!even) CompareTeeth(crank, primary, out);
  if (k.decoder.cams.empty()) {
    if (even) {
      out.disagreements.push_back(
          {primary.written.Of("wheel", primary.place),
           fmt::format(
               "trigger channel '{}': a wheel of {} has no gap, and no second trigger is told, "
               "so the position cannot be known",
               primary.name, WheelWords(primary.wheel)),
           "name a second trigger under 'cams' of the decoder"});
    } else if (cycle_deg > 360 && primary.shaft == profile::Shaft::kCrank) {
      out.not_compared.push_back({k.decoder.place,
                                  "the two turns of a cycle: no second trigger is told",
                                  "name one under 'cams' of the decoder"});
    }
    return;
  }
  const TriggerChannel& cam = Nth(k.triggers, k.decoder.cams[0]);
  const double window_deg =
      even ? std::min(cam.window_deg, crank.min_interval_deg() / 2) : cam.window_deg;
  CompareSecond(crank, {cam, standin::ActiveEdgesDeg(cam, cycle_deg), window_deg}, out);
}

}  // namespace drycrank::proofread
