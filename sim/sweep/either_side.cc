// SPDX-License-Identifier: Apache-2.0
#include "sweep/either_side.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <string>

#include "sweep/alike.h"
#include "sweep/sent_range.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "sweep/which_setting.h"

namespace drycrank::sweep {
namespace {

constexpr double kNear = 0.1 - 1e-9;
constexpr std::size_t kMostOfEnds = 8;  // facts that tell where two warnings end

using Texts = std::map<std::string, std::string>;  // of one readout

bool IsLimit(Step step) {
  return step == Step::kWarnsAbove || step == Step::kEndsBelow || step == Step::kWarnsBelow ||
         step == Step::kEndsAbove;
}

Texts TextsOf(const std::vector<ShownFact>& facts) {
  Texts texts;
  for (const ShownFact& f : facts) texts[KeyOf(f)] = f.shown.text;
  return texts;
}

}  // namespace

bool IsAtEdge(const profile::Readout& readout, double shown) {
  const auto& bar = readout.bar;
  const bool between = !bar || bar->lights == profile::SegmentLights::kHalf;
  const double parts = bar ? (shown - bar->low) / SegmentOf(*bar)
                           : shown * std::pow(10.0, readout.decimals);
  const double from_edge = parts - (between ? 0.5 : 0.0);
  return std::abs(from_edge - std::round(from_edge)) < kNear;
}

namespace {

// Where both sides have the text that was seen, one of them.
std::vector<ShownFact> WithEitherText(const Sides& sides, const std::vector<ShownFact>& seen,
                                      std::vector<ShownFact> due) {
  const Texts a = TextsOf(sides.is_short), b = TextsOf(sides.beyond), told = TextsOf(seen);
  for (ShownFact& f : due) {
    const std::string at = KeyOf(f);
    if (IsLimit(f.step) || !a.contains(at) || !b.contains(at) || !told.contains(at)) continue;
    const auto is_side = [&](const std::string& text) {
      return text == a.at(at) || text == b.at(at);
    };
    if (is_side(f.shown.text) && is_side(told.at(at))) f.shown.text = told.at(at);
  }
  return due;
}

std::vector<ShownFact> OfReadout(const std::vector<ShownFact>& facts, const std::string& readout) {
  std::vector<ShownFact> its;
  std::ranges::copy_if(facts, std::back_inserter(its),
                       [&](const ShownFact& f) { return f.readout == readout; });
  return its;
}

}  // namespace

std::optional<std::vector<ShownFact>> SideSeen(const Sides& sides,
                                               const std::vector<ShownFact>& seen) {
  for (const auto* side : {&sides.is_short, &sides.arrived}) {
    auto due = WithEitherText(sides, seen, *side);
    if (due == seen) return due;
  }
  return std::nullopt;
}

bool MayBeAnotherSide(const std::vector<ShownFact>& due, const std::vector<ShownFact>& seen) {
  if (due.size() != seen.size()) return false;
  std::size_t differ = 0;
  for (std::size_t i = 0; i < due.size(); ++i) {
    ShownFact f = due[i];
    if (!IsLimit(f.step)) f.shown.text = seen[i].shown.text;
    differ += f != seen[i];
  }
  return differ <= kMostOfEnds;
}

WhatItShowed SweepStandinAsSeen(const profile::Bench& bench, std::uint64_t seed, bool seen_by_echo,
                                bool with_switching_on, const WhatItShowed& showed) {
  const auto& smoothed = showed.by.smoothed;
  WhatItShowed due = SweepStandin(bench, seed, seen_by_echo, with_switching_on, smoothed);
  if (smoothed.empty()) return due;
  const auto swept = [&](StandinScreen::Comes comes) {
    StandinScreen screen(bench, seen_by_echo, smoothed, comes);
    return Sweep(bench, RequiredReadouts(bench), {seed, with_switching_on}, screen).facts;
  };
  const auto beyond = swept(StandinScreen::Comes::kBeyond),
             arrived = swept(StandinScreen::Comes::kArrives);
  for (const std::string& name : smoothed) {
    const Sides sides{OfReadout(due.facts, name), OfReadout(beyond, name),
                      OfReadout(arrived, name)};
    const auto seen = OfReadout(showed.facts, name);
    const auto its = SideSeen(sides, seen).value_or(WithEitherText(sides, seen, sides.is_short));
    std::erase_if(due.facts, [&](const ShownFact& f) { return f.readout == name; });
    due.facts.insert(due.facts.end(), its.begin(), its.end());
  }
  Sort(due.facts);
  return due;
}

}  // namespace drycrank::sweep
