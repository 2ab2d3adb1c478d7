// SPDX-License-Identifier: Apache-2.0
#include "sweep/which_setting.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <optional>
#include <set>

#include "sweep/alike.h"
#include "sweep/either_side.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"

namespace drycrank::sweep {
namespace {

using FactsOf = std::map<std::string, std::vector<ShownFact>>;

FactsOf Grouped(const std::vector<ShownFact>& facts) {
  FactsOf groups;
  for (const ShownFact& f : facts) groups[f.readout].push_back(f);
  return groups;
}

std::uint64_t SeedOf(const WhatItShowed& showed) {
  std::uint64_t seed = 1;
  const std::string& text = showed.by.seed;
  std::from_chars(text.data(), text.data() + text.size(), seed);
  return seed;
}

class Search {
 public:
  Search(const profile::Bench& bench, const WhatItShowed& showed)
      : bench_(bench),
        readouts_(RequiredReadouts(bench)),
        observed_(Grouped(showed.facts)),
        ended_(Names(showed.by.ended)),
        smoothed_(showed.by.smoothed),
        by_echo_(showed.by.witness == kByEcho),
        wish_{SeedOf(showed), HasSwitchingOn(showed)} {}

  Explained Do() {
    Explained out;
    out.differing = Differing(*bench_.display, readouts_);
    if (out.differing.empty()) return out;
    const auto first = std::ranges::find(readouts_, out.differing.front(), &profile::Readout::name);
    for (Edit& edit : EditsFor(bench_, *first, observed_[first->name])) {
      if (!TouchesAll(edit, out.differing)) continue;
      ++out.tried;
      if (!Known(edit, out.by) && Explains(edit, *first)) out.by.push_back(std::move(edit));
    }
    std::ranges::stable_partition(out.by, [](const Edit& edit) { return !edit.is_unlikely; });
    return out;
  }

 private:
  static std::set<std::string> Names(const std::vector<Ended>& ended) {
    std::set<std::string> names;
    for (const Ended& e : ended) names.insert(e.readout);
    return names;
  }
  // Of one that ended too soon, what it was looked at.
  std::vector<ShownFact> LookedAt(const std::string& readout, std::vector<ShownFact> facts) const {
    const auto was_seen = [&](const ShownFact& f) {
      return std::ranges::any_of(observed_.at(readout),
                                 [&](const ShownFact& seen) { return KeyOf(seen) == KeyOf(f); });
    };
    if (ended_.contains(readout)) std::erase_if(facts, [&](const auto& f) { return !was_seen(f); });
    return facts;
  }
  static bool HasSwitchingOn(const WhatItShowed& showed) {
    return std::ranges::find(showed.facts, Step::kPowerOn, &ShownFact::step) != showed.facts.end();
  }
  static bool TouchesAll(const Edit& edit, const std::vector<std::string>& differing) {
    return std::ranges::all_of(differing, [&](const std::string& name) {
      return std::ranges::find(edit.readouts, name) != edit.readouts.end();
    });
  }
  static bool Known(const Edit& edit, const std::vector<Edit>& list) {
    return std::ranges::any_of(list, [&](const Edit& e) {
      return e.setting == edit.setting && (edit.is_one_of_many || e.becomes == edit.becomes);
    });
  }
  // Most do not even explain one readout.
  bool Explains(const Edit& edit, const profile::Readout& first) const {
    if (!Differing(edit.display, {first}).empty()) return false;
    std::vector<profile::Readout> others = Named(edit.readouts);
    std::erase_if(others, [&](const profile::Readout& r) { return r.name == first.name; });
    return Differing(edit.display, others).empty();
  }
  std::vector<profile::Readout> Named(const std::vector<std::string>& names) const {
    std::vector<profile::Readout> named;
    for (const profile::Readout& r : readouts_) {
      if (std::ranges::find(names, r.name) != names.end()) named.push_back(r);
    }
    return named;
  }
  // And those that a sweep moved at the same time (together.h), in their order.
  std::vector<profile::Readout> MovedWith(const std::vector<profile::Readout>& readouts) const {
    const auto is_smoothed = [&](const profile::Readout& r) {
      return std::ranges::find(smoothed_, r.name) != smoothed_.end();
    };
    if (std::ranges::none_of(readouts, is_smoothed)) return readouts;
    std::vector<profile::Readout> moved = readouts_;
    std::erase_if(moved, [&](const profile::Readout& r) {
      const bool is_asked =
          std::ranges::find(readouts, r.name, &profile::Readout::name) != readouts.end();
      return !is_asked && !is_smoothed(r);
    });
    return moved;
  }
  // Of those that were looked at.
  std::vector<std::string> Differing(const profile::Display& display,
                                     const std::vector<profile::Readout>& readouts) const {
    profile::Bench as_set = bench_;
    as_set.display = display;
    StandinScreen screen(as_set, by_echo_, smoothed_);
    const FactsOf shown = Grouped(Sweep(as_set, MovedWith(readouts), wish_, screen).facts);
    std::optional<FactsOf> beyond;
    std::vector<std::string> names;
    for (const profile::Readout& r : readouts) {
      const auto swept = shown.find(r.name);
      if (swept == shown.end()) continue;
      const auto& [name, facts] = *swept;
      const auto seen = observed_.find(name);
      if (seen == observed_.end() || seen->second == LookedAt(name, facts)) continue;
      if (!IsEitherSide(as_set, readouts, name, facts, beyond)) names.push_back(name);
    }
    return names;
  }
  // Whether what it showed differs only where it stands at an edge. `beyond`: the sweep with what
  // is smoothed there, once it was needed.
  bool IsEitherSide(const profile::Bench& as_set, const std::vector<profile::Readout>& readouts,
                    const std::string& name, const std::vector<ShownFact>& facts,
                    std::optional<FactsOf>& beyond) const {
    const auto& seen = observed_.at(name);
    std::vector<ShownFact> due = LookedAt(name, facts);
    const bool is_smoothed = std::ranges::find(smoothed_, name) != smoothed_.end();
    if (!is_smoothed || !OnlyTextsDiffer(seen, due)) return false;
    if (!beyond) {
      StandinScreen screen(as_set, by_echo_, smoothed_, StandinScreen::Comes::kBeyond);
      beyond = Grouped(Sweep(as_set, MovedWith(readouts), wish_, screen).facts);
    }
    TakeEitherSide(facts, (*beyond)[name], seen, due);
    return seen == due;
  }

  const profile::Bench& bench_;
  std::vector<profile::Readout> readouts_;
  FactsOf observed_;
  std::set<std::string> ended_;
  std::vector<std::string> smoothed_;
  bool by_echo_;
  SweepWish wish_;
};

}  // namespace

Explained WhichSetting(const profile::Bench& bench, const WhatItShowed& showed) {
  return Search(bench, showed).Do();
}

WhatItShowed SweepStandin(const profile::Bench& bench, std::uint64_t seed, bool seen_by_echo,
                          bool with_switching_on, const std::vector<std::string>& smoothed) {
  StandinScreen screen(bench, seen_by_echo, smoothed);
  WhatItShowed showed;
  showed.by.bench = bench.name;
  showed.by.seed = std::to_string(seed);
  showed.by.smoothed = smoothed;
  showed.by.witness = seen_by_echo ? kByEcho : kByStandin;
  showed.facts = Sweep(bench, RequiredReadouts(bench), {seed, with_switching_on}, screen).facts;
  return showed;
}

}  // namespace drycrank::sweep
