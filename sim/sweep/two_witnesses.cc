// SPDX-License-Identifier: Apache-2.0
#include "sweep/two_witnesses.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <type_traits>
#include <utility>

#include "sweep/alike.h"
#include "sweep/echo.h"
#include "sweep/which_setting.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

constexpr char kLit[] = "lit";

std::string KindOf(const WhatItShowed& showed) {
  return showed.by.witness.substr(0, showed.by.witness.find(':'));
}

bool IsNumber(const std::string& text) {
  const auto number = ParseNumberWithUnit(text);
  return number && number->unit.empty();
}

// ---- facts that both have ---------------------------------------------------------------------

using FactKey = std::pair<std::string, std::string>;
FactKey FactKeyOf(const ShownFact& f) { return {f.readout, KeyOf(f)}; }

std::set<FactKey> KeysOf(const WhatItShowed& showed) {
  std::set<FactKey> keys;
  for (const ShownFact& f : showed.facts) keys.insert(FactKeyOf(f));
  return keys;
}

using Words = std::map<std::string, std::set<std::string>>;  // of a readout, what is not compared

void TakeOutAlone(WhatItShowed& showed, const std::set<FactKey>& others, Words& words) {
  std::map<std::string, std::size_t> points;
  std::erase_if(showed.facts, [&](const ShownFact& f) {
    if (others.contains(FactKeyOf(f))) return false;
    if (IsPoint(f)) {
      ++points[f.readout];
    } else {
      words[f.readout].insert(Name(f.step));
    }
    return true;
  });
  for (const auto& [readout, count] : points) {
    words[readout].insert(fmt::format("{} point{}", count, count == 1 ? "" : "s"));
  }
}

// ---- fields -----------------------------------------------------------------------------------

// One readout, fact beside fact.
class Both {
 public:
  Both(std::vector<std::pair<ShownFact*, ShownFact*>> pairs, std::set<std::string>& words)
      : pairs_(std::move(pairs)), words_(words) {}

  void Fields() {
    Field("page", [](Shown& s) -> int& { return s.page; });
    Field("unit", [](Shown& s) -> std::string& { return s.unit; });
    Field("lamp", [](Shown& s) -> std::string& { return s.lamp; });
    for (auto& [a, b] : pairs_) {
      if (a->shown.state.empty() == b->shown.state.empty()) continue;
      a->shown.state.clear();
      b->shown.state.clear();
      words_.insert("state");
    }
    Lamps();
  }
  // A number has no digits behind it, and stands for no word.
  void Texts() {
    for (auto& [a, b] : pairs_) {
      std::string &x = a->shown.text, &y = b->shown.text;
      if (x == y) continue;
      if (IsNumber(LitOf(x)) && IsNumber(LitOf(y)) && IsBar(x) != IsBar(y)) {
        x = LitOf(x);
        y = LitOf(y);
      } else if (IsNumber(x) && IsNumber(y)) {
        x = Plain(ParseNumberWithUnit(x)->value);
        y = Plain(ParseNumberWithUnit(y)->value);
      } else if (IsPoint(*a) || x.empty() || y.empty()) {
        x.clear();
        y.clear();
        words_.insert("words");
      }
    }
  }
  void Times(bool is_measured) {
    for (auto& [a, b] : pairs_) {
      if (a->step != Step::kGoneAfter) continue;
      if (!is_measured) words_.insert("gone after how long");
      for (ShownFact* f : {a, b}) {
        if (!is_measured) f->input.reset();
        if (f->input) f->input = std::floor(*f->input / kEchoGrainS + 1e-9) * kEchoGrainS;
      }
    }
  }
  // Upwards and downwards it was not the same: it depends on what was sent before.
  void OrderOfAsking() {
    for (auto& [a, b] : pairs_) {
      if (!IsPoint(*a) || !in_between.contains(Plain(a->input.value_or(0)))) continue;
      for (ShownFact* f : {a, b}) {
        f->shown.state.clear();
        f->shown.lamp.clear();
      }
      words_.insert("whether it warns between limit and end");
    }
  }

  // A lamp that stays lit stands beside a value that is gone, or was acknowledged before.
  void LampOfGone() {
    for (auto& [a, b] : pairs_) {
      if (a->step != Step::kGoneAfter || a->shown.lamp == b->shown.lamp) continue;
      a->shown.lamp.clear();
      b->shown.lamp.clear();
      words_.insert("its lamp while its value is gone");
    }
  }

  std::set<std::string> in_between;  // inputs

 private:
  template <class Member>
  void Field(const char* name, Member member) {
    using Value = std::decay_t<decltype(member(pairs_.front().first->shown))>;
    bool one = false, other = false;
    for (auto& [a, b] : pairs_) {
      one = one || member(a->shown) != Value();
      other = other || member(b->shown) != Value();
    }
    if (one == other) return;
    for (auto& [a, b] : pairs_) member(a->shown) = member(b->shown) = Value();
    words_.insert(name);
  }
  void Lamps() {
    const bool is_lit_known = std::ranges::any_of(pairs_, [](const auto& p) {
      return LampName(p.first->shown.lamp) == kLit || LampName(p.second->shown.lamp) == kLit;
    });
    for (auto& [a, b] : pairs_) {
      if (a->shown.lamp == b->shown.lamp) continue;
      for (ShownFact* f : {a, b}) {
        std::string& lamp = f->shown.lamp;
        if (lamp.empty()) continue;
        lamp = (is_lit_known ? std::string(kLit) : LampName(lamp)) + (Blinks(lamp) ? kBlinks : "");
      }
      if (is_lit_known) words_.insert("colour of the lamp");
    }
  }

  std::vector<std::pair<ShownFact*, ShownFact*>> pairs_;
  std::set<std::string>& words_;
};

std::map<std::string, std::vector<std::pair<ShownFact*, ShownFact*>>> Paired(WhatItShowed& was,
                                                                             WhatItShowed& now) {
  std::map<FactKey, ShownFact*> other;
  for (ShownFact& f : now.facts) other[FactKeyOf(f)] = &f;
  std::map<std::string, std::vector<std::pair<ShownFact*, ShownFact*>>> pairs;
  for (ShownFact& f : was.facts) pairs[f.readout].push_back({&f, other.at(FactKeyOf(f))});
  return pairs;
}

// Of each readout the inputs that showed another state upwards than downwards.
std::map<std::string, std::set<std::string>> InBetween(const WhatItShowed& swept) {
  std::map<std::pair<std::string, std::string>, std::string> up;
  std::map<std::string, std::set<std::string>> found;
  for (const ShownFact& f : swept.facts) {  // sorted: up before down
    const std::string input = Plain(f.input.value_or(0));
    if (f.step == Step::kUp) up[{f.readout, input}] = f.shown.state;
    const auto other = up.find({f.readout, input});
    if (f.step != Step::kDown || other == up.end()) continue;
    if (other->second != f.shown.state) found[f.readout].insert(input);
  }
  return found;
}

// Readouts whose lamp was lit once the warning was over.
void AddLatching(const WhatItShowed& showed, std::set<std::string>& latching) {
  for (const ShownFact& f : showed.facts) {
    if (f.step == Step::kAfterWarning && !f.shown.lamp.empty()) latching.insert(f.readout);
  }
}

std::vector<std::string> Sentences(const Words& words) {
  std::map<std::string, std::vector<std::string>> readouts;
  for (const auto& [readout, list] : words) {
    if (!list.empty()) readouts[fmt::format("{}", fmt::join(list, ", "))].push_back(readout);
  }
  std::vector<std::string> sentences;
  for (const auto& [what, names] : readouts) {
    sentences.push_back(fmt::format("{}: not compared, for one of the two did not tell it: {}",
                                    fmt::join(names, ", "), what));
  }
  return sentences;
}

}  // namespace

bool IsAsked(const WhatItShowed& showed) {
  return KindOf(showed) == kByPerson || KindOf(showed) == kByPictures;
}

bool AreOfTwoKinds(const WhatItShowed& a, const WhatItShowed& b) {
  return !KindOf(a).empty() && !KindOf(b).empty() && KindOf(a) != KindOf(b);
}

std::vector<std::string> TakeWhatBothTell(WhatItShowed& was, WhatItShowed& now) {
  if (!AreOfTwoKinds(was, now)) return {};
  Words words;
  auto between = InBetween(was);
  between.merge(InBetween(now));
  std::set<std::string> latching;
  AddLatching(was, latching);
  AddLatching(now, latching);
  const auto was_keys = KeysOf(was), now_keys = KeysOf(now);
  TakeOutAlone(was, now_keys, words);
  TakeOutAlone(now, was_keys, words);
  const bool by_echo = KindOf(was) == kByEcho || KindOf(now) == kByEcho;
  const bool is_asked = IsAsked(was) || IsAsked(now);
  for (auto& [readout, pairs] : Paired(was, now)) {
    Both both(std::move(pairs), words[readout]);
    if (is_asked) both.in_between = between[readout];
    if (is_asked && latching.contains(readout)) both.LampOfGone();
    both.Fields();
    if (by_echo) both.Texts();
    both.Times(!is_asked);
    both.OrderOfAsking();
  }
  return Sentences(words);
}

}  // namespace drycrank::sweep
