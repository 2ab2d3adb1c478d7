// SPDX-License-Identifier: Apache-2.0
#include "sweep/which_setting.h"

#include <algorithm>
#include <charconv>
#include <map>

#include "sweep/standin_screen.h"
#include "sweep/sweep.h"

namespace drycrank::sweep {
namespace {

using ByReadout = std::map<std::string, std::vector<ShownFact>>;

ByReadout Grouped(const std::vector<ShownFact>& facts) {
  ByReadout groups;
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
      if (Differing(edit.display, Named(edit.readouts)).empty() && !Known(edit, out.by)) {
        out.by.push_back(std::move(edit));
      }
    }
    std::ranges::stable_partition(out.by, [](const Edit& edit) { return !edit.is_unlikely; });
    return out;
  }

 private:
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
      return e.setting == edit.setting && e.becomes == edit.becomes;
    });
  }
  std::vector<profile::Readout> Named(const std::vector<std::string>& names) const {
    std::vector<profile::Readout> named;
    for (const profile::Readout& r : readouts_) {
      if (std::ranges::find(names, r.name) != names.end()) named.push_back(r);
    }
    return named;
  }
  // Of those that were looked at.
  std::vector<std::string> Differing(const profile::Display& display,
                                     const std::vector<profile::Readout>& readouts) const {
    profile::Bench as_set = bench_;
    as_set.display = display;
    StandinScreen screen(as_set, by_echo_);
    const ByReadout shown = Grouped(Sweep(as_set, readouts, wish_, screen).facts);
    std::vector<std::string> names;
    for (const auto& [name, facts] : shown) {
      const auto seen = observed_.find(name);
      if (seen != observed_.end() && seen->second != facts) names.push_back(name);
    }
    return names;
  }

  const profile::Bench& bench_;
  std::vector<profile::Readout> readouts_;
  ByReadout observed_;
  bool by_echo_;
  SweepWish wish_;
};

}  // namespace

Explained WhichSetting(const profile::Bench& bench, const WhatItShowed& showed) {
  return Search(bench, showed).Do();
}

WhatItShowed SweepStandin(const profile::Bench& bench, std::uint64_t seed, bool seen_by_echo,
                          bool with_switching_on) {
  StandinScreen screen(bench, seen_by_echo);
  WhatItShowed showed;
  showed.by.bench = bench.name;
  showed.by.seed = std::to_string(seed);
  showed.by.witness = seen_by_echo ? kByEcho : kByStandin;
  showed.facts = Sweep(bench, RequiredReadouts(bench), {seed, with_switching_on}, screen).facts;
  return showed;
}

}  // namespace drycrank::sweep
