// SPDX-License-Identifier: Apache-2.0
#include "sweep/alike.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "sweep/person_manner.h"
#include "sweep/which_setting.h"

namespace drycrank::sweep {
namespace {

bool IsByPerson(const WhatItShowed& showed) { return showed.by.witness.starts_with(kByPerson); }

bool HasStep(const ByKey& facts, Step step) {
  return std::ranges::any_of(facts, [step](const auto& at) { return at.second->step == step; });
}

// Where a warning that never came comes now, its end is new as well.
bool ComesWithItsLimit(const ShownFact& fact, const ByKey& was) {
  return (fact.step == Step::kEndsBelow && HasStep(was, Step::kWarnsAbove)) ||
         (fact.step == Step::kEndsAbove && HasStep(was, Step::kWarnsBelow));
}

using ByPlace = std::map<std::pair<std::string, std::string>, std::vector<const ShownFact*>>;

ByPlace PlacesOf(const WhatItShowed& showed) {
  ByPlace places;
  for (const ShownFact& f : showed.facts) places[{f.readout, KeyOf(f)}].push_back(&f);
  return places;
}

// Of `facts` of one place: which of the others of it each is, from 0.
std::vector<std::size_t> OrderOf(const std::vector<const ShownFact*>& facts,
                                 const std::vector<const ShownFact*>& others) {
  std::vector<std::size_t> order;
  for (const ShownFact* fact : facts) {
    std::size_t at = order.empty() ? 0 : order.back() + 1;
    const std::size_t left = facts.size() - order.size() - 1;
    for (std::size_t i = at; i + left < others.size(); ++i) {
      if (*others[i] != *fact) continue;
      at = i;
      break;
    }
    order.push_back(at);
  }
  return order;
}

}  // namespace

std::string KeyOf(const ShownFact& f) {
  return fmt::format("{:02}{}", static_cast<int>(f.step),
                     IsPoint(f) && f.input ? Plain(*f.input) : "");
}

ByReadout Sorted(const WhatItShowed& showed, const WhatItShowed& other) {
  const ByPlace places = PlacesOf(showed), others = PlacesOf(other);
  ByReadout by_readout;
  for (const auto& [place, facts] : places) {
    const auto beside = others.find(place);
    const auto none = std::vector<const ShownFact*>();
    const auto at = OrderOf(facts, beside == others.end() ? none : beside->second);
    for (std::size_t i = 0; i < facts.size(); ++i) {
      const std::string order = at[i] == 0 ? "" : fmt::format(" {}", at[i]);
      by_readout[place.first][place.second + order] = facts[i];
    }
  }
  return by_readout;
}

WhatItShowed OnlyIn(const WhatItShowed& showed, const WhatItShowed& other) {
  const ByReadout asked = Sorted(other);
  WhatItShowed only{showed.by, {}};
  for (const ShownFact& f : showed.facts) {
    const auto readout = asked.find(f.readout);
    if (readout == asked.end() || !readout->second.contains(KeyOf(f))) only.facts.push_back(f);
  }
  return only;
}

std::string NotAskedWords(const ByKey& was, const ByKey& now) {
  std::size_t points = 0;
  std::vector<std::string> words;
  for (const auto& [key, fact] : now) {
    if (was.contains(key) || ComesWithItsLimit(*fact, was)) continue;
    if (IsPoint(*fact)) {
      ++points;
    } else {
      words.push_back(Name(fact->step));
    }
  }
  if (points > 0) {
    words.insert(words.begin(), fmt::format("{} point{}", points, points == 1 ? "" : "s"));
  }
  return fmt::format("{}", fmt::join(words, ", "));
}

void TakeOutUnseenLamps(WhatItShowed& was, WhatItShowed& now) {
  const ByReadout a = Sorted(was, now), b = Sorted(now, was);
  std::set<const ShownFact*> unseen;
  for (const auto& [readout, facts] : a) {
    const auto beside = b.find(readout);
    if (beside == b.end()) continue;
    for (const auto& [key, fact] : facts) {
      const auto same = beside->second.find(key);
      if (same == beside->second.end()) continue;
      if (fact->shown.lamp != kLampUnseen && same->second->shown.lamp != kLampUnseen) continue;
      unseen.insert({fact, same->second});
    }
  }
  for (auto* facts : {&was.facts, &now.facts}) {
    for (ShownFact& f : *facts) {
      if (unseen.contains(&f)) f.shown.lamp.clear();
    }
  }
}

void TakeCountedAsSame(const WhatItShowed& was, WhatItShowed& now) {
  if (!IsByPerson(was) && !IsByPerson(now)) return;
  const ByReadout before = Sorted(was);
  for (ShownFact& f : now.facts) {
    const auto readout = before.find(f.readout);
    if (!IsTimed(f.step) || !f.input || readout == before.end()) continue;
    const auto same = readout->second.find(KeyOf(f));
    if (same == readout->second.end() || !same->second->input) continue;
    if (std::abs(*f.input - *same->second->input) <= kCountedS) f.input = same->second->input;
  }
}

}  // namespace drycrank::sweep
