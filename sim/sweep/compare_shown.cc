// SPDX-License-Identifier: Apache-2.0
#include "sweep/compare_shown.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <utility>

#include "sweep/alike.h"
#include "sweep/compare_steps.h"
#include "sweep/not_shown.h"
#include "sweep/two_witnesses.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using Pair = FactPair;

constexpr char kNotAskedBefore[] = "not asked before";

std::optional<double> NumberOf(const std::string& whole) {
  const std::string text = LitOf(whole);
  double number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return number;
}

int DecimalsOf(const std::string& text) {
  const auto point = text.find('.');
  return point == std::string::npos ? 0 : static_cast<int>(text.size() - point - 1);
}

// The same number but for its digits.
bool IsSameButRounded(const std::string& a, const std::string& b) {
  const auto x = NumberOf(a), y = NumberOf(b);
  if (!x || !y || DecimalsOf(a) == DecimalsOf(b)) return false;
  const double coarse = std::pow(10.0, -std::min(DecimalsOf(a), DecimalsOf(b)));
  return std::abs(*x - *y) <= 0.5 * coarse + 1e-9;
}

std::string Digits(int count) {
  if (count == 0) return "no digit behind the point";
  return fmt::format("{} digit{} behind the point", count, count == 1 ? "" : "s");
}

std::string Quoted(const std::string& text) { return text.empty() ? "nothing" : "'" + text + "'"; }
std::string UnitWord(const std::string& unit) {
  return unit.empty() ? "no unit" : DisplayUnit(unit);
}
std::string PageWord(int page) {
  return page == 0 ? "an unknown page" : fmt::format("page {}", page);
}
bool IsThere(const ShownFact& f) { return f.shown.state != "absent"; }
bool Stands(const ShownFact& f) { return f.shown.state.empty() || HasValue(f.shown); }

// ---- one readout ------------------------------------------------------------------------------

class OfReadout {
 public:
  OfReadout(std::string name, const std::vector<Pair>& pairs, std::vector<ShownChange>& out)
      : name_(std::move(name)), pairs_(pairs), out_(out) {}

  void Say() {
    if (!BothThere()) return;
    Page();
    if (Silent()) return;
    Values();
    Limits();
    const auto add = [this](ChangeKind kind, std::string sentence) {
      Add(kind, std::move(sentence));
    };
    CompareLamps(pairs_, add);
    if (!said_limit_) States();
    Gone();
    Ends(Step::kBack, "once its message is back");
    Ends(Step::kPowerOn, "before the first message");
    CompareSteps(pairs_, add);
  }

 private:
  void Add(ChangeKind kind, std::string sentence) {
    out_.push_back({name_, kind, std::move(sentence)});
  }
  template <class Is>
  std::vector<Pair> Points(Is is) const {
    std::vector<Pair> found;
    for (const Pair& p : pairs_) {
      if (IsPoint(*p.first) && is(*p.first, *p.second)) found.push_back(p);
    }
    return found;
  }
  std::size_t PointCount() const {
    return Points([](const auto&, const auto&) { return true; }).size();
  }
  const Pair* At(Step step) const {
    for (const Pair& p : pairs_) {
      if (p.first->step == step) return &p;
    }
    return nullptr;
  }

  bool BothThere() {
    if (pairs_.empty()) return false;
    const auto& [was, now] = pairs_.back();
    if (IsThere(*was) && !IsThere(*now)) {
      Add(ChangeKind::kLost, fmt::format("{} has lost it", PageWord(PageOf(true))));
    } else if (!IsThere(*was) && IsThere(*now)) {
      Add(ChangeKind::kGained, fmt::format("now stands on {}", PageWord(PageOf(false))));
    }
    return IsThere(*was) && IsThere(*now);
  }
  int PageOf(bool was) const {
    const auto& p = pairs_.back();
    return was ? p.first->shown.page : p.second->shown.page;
  }
  void Page() {
    if (PageOf(true) == PageOf(false)) return;
    Add(ChangeKind::kPage, fmt::format("now stands on {}, was on {}", PageWord(PageOf(false)),
                                       PageWord(PageOf(true))));
  }
  bool Silent() {
    const auto standing = Points([](const auto& a, const auto&) { return Stands(a); });
    const auto gone = Points([](const auto& a, const auto& b) { return Stands(a) && !Stands(b); });
    if (standing.empty() || gone.size() < standing.size()) return false;
    Add(ChangeKind::kSilent, fmt::format("its value no longer arrives: {} whatever is sent",
                                         Quoted(gone.front().second->shown.text)));
    return true;
  }

  // ---- values ----

  void Values() {
    const auto both = [](const ShownFact& a, const ShownFact& b) { return Stands(a) && Stands(b); };
    const auto units = Points(
        [&](const auto& a, const auto& b) { return both(a, b) && a.shown.unit != b.shown.unit; });
    auto texts = Points(
        [&](const auto& a, const auto& b) { return both(a, b) && a.shown.text != b.shown.text; });
    if (!units.empty()) {
      const Pair& p = units[units.size() / 2];
      Add(ChangeKind::kUnit,
          fmt::format("unit now {}, was {} ({} at {}, was {})", UnitWord(p.second->shown.unit),
                      UnitWord(p.first->shown.unit), p.second->shown.text,
                      Plain(p.first->input.value_or(0)), p.first->shown.text));
      return;
    }
    const bool rounded = std::ranges::all_of(texts, [](const Pair& p) {
      return IsSameButRounded(p.first->shown.text, p.second->shown.text);
    });
    if (!texts.empty() && rounded) return Decimals(texts);
    const auto names = std::partition(texts.begin(), texts.end(), [](const Pair& p) {
      return NumberOf(p.first->shown.text) && NumberOf(p.second->shown.text);
    });
    std::vector<Pair> named(names, texts.end());
    texts.erase(names, texts.end());
    Named(named);
    if (texts.empty()) return;
    std::ranges::stable_sort(texts, {}, [](const Pair& p) { return p.first->input.value_or(0); });
    const Pair& p = texts[texts.size() / 2];
    Add(ChangeKind::kValue, fmt::format("now shows {} at {}, was {}; in {} of {} points",
                                        p.second->shown.text, Plain(p.first->input.value_or(0)),
                                        p.first->shown.text, texts.size(), PointCount()));
  }
  void Decimals(const std::vector<Pair>& texts) {
    const auto& [was, now] = texts[texts.size() / 2];
    Add(ChangeKind::kDecimals,
        fmt::format("now shows {}, was {} ({} at {}, was {})", Digits(DecimalsOf(now->shown.text)),
                    Digits(DecimalsOf(was->shown.text)), now->shown.text,
                    Plain(was->input.value_or(0)), was->shown.text));
  }
  void Named(const std::vector<Pair>& named) {
    std::map<double, std::string> said;  // once, up and down
    for (const auto& [was, now] : named) {
      said.emplace(was->input.value_or(0),
                   fmt::format("now shows {} at {}, was {}", Quoted(now->shown.text),
                               Plain(was->input.value_or(0)), Quoted(was->shown.text)));
    }
    for (auto& [input, sentence] : said) Add(ChangeKind::kName, std::move(sentence));
  }

  // ---- warnings ----

  static std::string LimitWord(const ShownFact& f, const char* side) {
    if (f.input) return fmt::format("{}{}", side, WithUnit(Plain(*f.input), f.shown.unit));
    return f.shown.text;
  }
  void Limits() {
    LimitOf(Step::kWarnsAbove, "warning now comes", "above ");
    LimitOf(Step::kEndsBelow, "the high warning now ends", "at ");
    LimitOf(Step::kWarnsBelow, "warning now comes", "below ");
    LimitOf(Step::kEndsAbove, "the low warning now ends", "at ");
  }
  void LimitOf(Step step, const char* what, const char* side) {
    const Pair* p = At(step);
    if (p == nullptr || p->first->shown.text == p->second->shown.text) return;
    said_limit_ = true;
    const std::string was = LimitWord(*p->first, ""), now = LimitWord(*p->second, "");
    if (was == now) {  // between other values
      const auto words = [](const ShownFact& f) { return WithUnit(f.shown.text, f.shown.unit); };
      return Add(ChangeKind::kLimit, fmt::format("{} otherwise: {}, was {}", what,
                                                 words(*p->second), words(*p->first)));
    }
    const bool both = p->first->input && p->second->input;
    Add(ChangeKind::kLimit, fmt::format("{} {}, was {}", what, LimitWord(*p->second, side),
                                        LimitWord(*p->first, both ? "" : side)));
  }
  void States() {
    const auto other = Points([](const auto& a, const auto& b) {
      return !a.shown.state.empty() && a.shown.state != b.shown.state;
    });
    if (other.empty()) return;
    const auto& [was, now] = other[other.size() / 2];
    Add(ChangeKind::kState,
        fmt::format("now {} at {}, was {}; in {} of {} points", now->shown.state,
                    Plain(was->input.value_or(0)), was->shown.state, other.size(), PointCount()));
  }

  // ---- gone ----

  static std::string After(const ShownFact& f) {
    return f.input ? fmt::format("after {:.4g} s", *f.input) : std::string("never");
  }
  void Gone() {
    const Pair* p = At(Step::kGoneAfter);
    if (p == nullptr) return;
    const auto& [was, now] = *p;
    if (After(*was) != After(*now)) {
      Add(ChangeKind::kGone, fmt::format("without its message the value is now gone {}, was {}",
                                         After(*now), After(*was)));
    } else {
      Ends(Step::kGoneAfter, "when its value is gone");
    }
  }
  void Ends(Step step, const char* when) {
    const Pair* p = At(step);
    if (p == nullptr || p->first->shown.state != p->second->shown.state) {
      if (p != nullptr && step != Step::kGoneAfter && !said_state_) {
        said_state_ = true;
        if (!said_limit_) {
          Add(ChangeKind::kState, fmt::format("{} it is now {}, was {}", when,
                                              p->second->shown.state, p->first->shown.state));
        }
      }
      return;
    }
    const bool is_gone = p->first->shown.state == "stale";
    if (p->first->shown.text == p->second->shown.text || !is_gone || said_gone_) return;
    said_gone_ = true;
    Add(ChangeKind::kGone,
        fmt::format("{} it now shows {}, was {}", when, Quoted(p->second->shown.text),
                    Quoted(p->first->shown.text)));
  }

  std::string name_;
  const std::vector<Pair>& pairs_;
  std::vector<ShownChange>& out_;
  bool said_limit_ = false, said_state_ = false, said_gone_ = false;
};

// ---- all of them ------------------------------------------------------------------------------

void Note(Comparison& out, const char* what, const std::string& was, const std::string& now) {
  if (was == now) return;
  const auto word = [](const std::string& text) { return text.empty() ? "not told" : text; };
  out.notes.push_back(fmt::format("{} now {}, was {}", what, word(now), word(was)));
}

void Notes(const struct ShownBy& was, const struct ShownBy& now, Comparison& out) {
  Note(out, "bench", was.bench, now.bench);
  if (was.bench == now.bench && was.bench_hash != now.bench_hash) {
    out.notes.push_back("the bench's files are not the same as they were");
  }
  Note(out, "version of drycrank", was.version, now.version);
  Note(out, "seed", was.seed, now.seed);
  Note(out, "seen by", was.witness, now.witness);
  const auto list = [](const std::vector<std::string>& names) {
    return names.empty() ? std::string("none") : fmt::format("{}", fmt::join(names, ", "));
  };
  Note(out, "readouts that are smoothed:", list(was.smoothed), list(now.smoothed));
}

// Not all that was asked before has been asked again.
ShownChange OfLess(const std::string& name, const ByKey& was, const ByKey& now, std::size_t both) {
  if (now.size() == both) {
    return {name, ChangeKind::kNotAsked, "not looked at any more: " + NotAskedWords(now, was)};
  }
  return {name, ChangeKind::kPoints,
          fmt::format("looked at with other values: {} points stand in one of the two alone",
                      was.size() + now.size() - 2 * both)};
}

void CompareReadout(const std::string& name, const ByKey& was, const ByKey& now, Comparison& out) {
  std::vector<Pair> pairs;
  bool all_same = true;
  for (const auto& [key, fact] : was) {
    const auto found = now.find(key);
    if (found == now.end()) continue;
    pairs.push_back({fact, found->second});
    const bool same = *fact == *found->second;
    all_same = all_same && same;
    if (same) ++out.points_identical;
  }
  const std::size_t before = out.changes.size();
  if (!all_same) OfReadout(name, pairs, out.changes).Say();
  const bool is_less = was.size() > pairs.size();
  if (is_less && out.changes.size() == before) {
    out.changes.push_back(OfLess(name, was, now, pairs.size()));
  } else if (const std::string words = NotAskedWords(was, now); !words.empty() && !is_less) {
    out.not_asked_before.push_back(
        {name, ChangeKind::kNotAsked, fmt::format("{}: {}", kNotAskedBefore, words)});
  }
  // Nothing may differ without a word.
  if (!all_same && out.changes.size() == before) {
    const auto other =
        std::ranges::find_if(pairs, [](const Pair& p) { return *p.first != *p.second; });
    out.changes.push_back({name, ChangeKind::kValue, Otherwise(*other->first, *other->second)});
  }
  if (out.changes.size() == before) ++out.readouts_identical;
}

}  // namespace

const char* Name(ChangeKind kind) {
  static constexpr std::array kNames = {"lost", "gained",   "not_asked", "page",   "silent",
                                        "unit", "decimals", "name",      "value",  "limit",
                                        "lamp", "state",    "gone",      "points", "switching"};
  return Nth(kNames, kind);
}

bool NothingCompared(const Comparison& comparison) {
  return comparison.changes.empty() && comparison.points_identical == 0;
}

std::vector<std::string> Compared(const Comparison& comparison) {
  std::vector<std::string> compared = comparison.readouts;
  std::erase_if(compared, [&](const std::string& name) {
    const auto is_it = [&](const ShownChange& change) { return change.readout == name; };
    return std::ranges::none_of(comparison.changes, is_it) &&
           std::ranges::any_of(comparison.not_asked_before, [&](const ShownChange& change) {
             return is_it(change) && change.sentence == kNotAskedBefore;
           });
  });
  return compared;
}

std::string Spoken(const std::string& readout) {
  std::string spoken = readout;
  std::ranges::replace(spoken, '_', ' ');
  return spoken;
}

Comparison Compare(const WhatItShowed& as_was, const WhatItShowed& as_counted) {
  Comparison out;
  WhatItShowed was = as_was, now = as_counted;
  const auto not_compared = TakeWhatBothTell(was, now);
  TakeQuestionsAsBefore(was, now);
  TakeCountedAsSame(was, now);
  TakeLitAsSame(was, now);
  const ByReadout a = Sorted(was), b = Sorted(now);
  Notes(was.by, now.by, out);
  out.notes.insert(out.notes.end(), not_compared.begin(), not_compared.end());
  for (const auto& [name, facts] : a) {
    out.readouts.push_back(name);
    const auto found = b.find(name);
    if (found != b.end()) {
      CompareReadout(name, facts, found->second, out);
    } else {
      out.changes.push_back({name, ChangeKind::kNotAsked, "not looked at any more"});
    }
  }
  for (const auto& [name, facts] : b) {
    if (a.contains(name)) continue;
    out.readouts.push_back(name);
    out.not_asked_before.push_back({name, ChangeKind::kNotAsked, kNotAskedBefore});
  }
  AddNotShown(as_was, as_counted, out);
  std::ranges::sort(out.readouts);
  std::ranges::stable_sort(out.not_asked_before, {}, &ShownChange::readout);
  return out;
}

}  // namespace drycrank::sweep
