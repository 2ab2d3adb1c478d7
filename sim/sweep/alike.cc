// SPDX-License-Identifier: Apache-2.0
#include "sweep/alike.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "sweep/person_manner.h"
#include "sweep/two_witnesses.h"
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

}  // namespace

std::string KeyOf(const ShownFact& f) {
  return fmt::format("{:02}{}{}", static_cast<int>(f.step),
                     IsPoint(f) && f.input ? Plain(*f.input) : "",
                     f.question > 0 ? fmt::format(" at {}", f.question) : "");
}

ByReadout Sorted(const WhatItShowed& showed) {
  ByReadout by_readout;
  for (const ShownFact& f : showed.facts) by_readout[f.readout][KeyOf(f)] = &f;
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

void TakeLitAsSame(const WhatItShowed& was, WhatItShowed& now) {
  const ByReadout before = Sorted(was);
  for (ShownFact& f : now.facts) {
    const auto readout = before.find(f.readout);
    if (readout == before.end()) continue;
    const auto same = readout->second.find(KeyOf(f));
    if (same == readout->second.end()) continue;
    const std::string& text = same->second->shown.text;
    if (IsBar(text) == IsBar(f.shown.text) || LitOf(text) != LitOf(f.shown.text)) continue;
    if (IsAsked(IsBar(text) ? now : was)) f.shown.text = text;
  }
}

void TakeQuestionsAsBefore(const WhatItShowed& was, WhatItShowed& now) {
  const bool has_questions =
      std::ranges::any_of(was.facts, [](const ShownFact& f) { return f.question > 0; });
  if (has_questions || !IsAsked(was)) return;
  const ByReadout before = Sorted(was), after = Sorted(now);
  const auto has = [](const ByReadout& facts, const ShownFact& f) {
    const auto readout = facts.find(f.readout);
    return readout != facts.end() && readout->second.contains(KeyOf(f));
  };
  for (ShownFact& f : now.facts) {
    ShownFact by_value = f;
    by_value.question = 0;
    if (f.question > 0 && has(before, by_value) && !has(after, by_value)) f.question = 0;
  }
}

}  // namespace drycrank::sweep
