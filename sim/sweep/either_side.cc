// SPDX-License-Identifier: Apache-2.0
#include "sweep/either_side.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <utility>

#include "sweep/alike.h"
#include "sweep/sent_range.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "sweep/which_setting.h"

namespace drycrank::sweep {
namespace {

constexpr double kNear = 0.1 - 1e-9;

using Texts = std::map<std::pair<std::string, std::string>, std::string>;

bool IsLimit(Step step) {
  return step == Step::kWarnsAbove || step == Step::kEndsBelow || step == Step::kWarnsBelow ||
         step == Step::kEndsAbove;
}

Texts TextsOf(const std::vector<ShownFact>& facts) {
  Texts texts;
  for (const ShownFact& f : facts) texts[{f.readout, KeyOf(f)}] = f.shown.text;
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

void TakeEitherSide(const std::vector<ShownFact>& one, const std::vector<ShownFact>& other,
                    const std::vector<ShownFact>& seen, std::vector<ShownFact>& due) {
  const Texts a = TextsOf(one), b = TextsOf(other), told = TextsOf(seen);
  for (ShownFact& f : due) {
    const std::pair at(f.readout, KeyOf(f));
    if (IsLimit(f.step) || !a.contains(at) || !b.contains(at) || !told.contains(at)) continue;
    const auto is_side = [&](const std::string& text) {
      return text == a.at(at) || text == b.at(at);
    };
    if (is_side(f.shown.text) && is_side(told.at(at))) f.shown.text = told.at(at);
  }
}

bool OnlyTextsDiffer(const std::vector<ShownFact>& a, const std::vector<ShownFact>& b) {
  return std::ranges::equal(a, b, [](const ShownFact& x, ShownFact y) {
    if (!IsLimit(x.step)) y.shown.text = x.shown.text;
    return x == y;
  });
}

WhatItShowed SweepStandinAsSeen(const profile::Bench& bench, std::uint64_t seed, bool seen_by_echo,
                                bool with_switching_on, const WhatItShowed& showed) {
  const auto& smoothed = showed.by.smoothed;
  WhatItShowed due = SweepStandin(bench, seed, seen_by_echo, with_switching_on, smoothed);
  if (smoothed.empty()) return due;
  StandinScreen beyond(bench, seen_by_echo, smoothed, StandinScreen::Comes::kBeyond);
  const auto other =
      Sweep(bench, RequiredReadouts(bench), {seed, with_switching_on}, beyond).facts;
  const auto one = due.facts;
  TakeEitherSide(one, other, showed.facts, due.facts);
  return due;
}

}  // namespace drycrank::sweep
