// SPDX-License-Identifier: Apache-2.0
#include "picture/side_by_side.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <utility>

namespace drycrank::picture {
namespace {

using sweep::ShownFact;
using sweep::Step;
using Facts = std::vector<const ShownFact*>;
using ByReadout = std::map<std::string, Facts>;

ByReadout Grouped(const sweep::WhatItShowed& showed) {
  ByReadout groups;
  for (const ShownFact& fact : showed.facts) groups[fact.readout].push_back(&fact);
  return groups;
}

bool IsPoint(const ShownFact& f) { return f.step == Step::kUp || f.step == Step::kDown; }
// What a screen shows at one moment, and no measured time or limit.
bool IsLook(const ShownFact& f) {
  const bool is_limit = f.step >= Step::kWarnsAbove && f.step <= Step::kEndsAbove;
  return !is_limit && f.step != Step::kLampTest;
}
bool IsSame(const ShownFact& a, const ShownFact& b) {
  const auto written = [](const ShownFact& f) { return f.input ? sweep::Plain(*f.input) : ""; };
  return a.step == b.step && a.question == b.question &&
         (!IsPoint(a) || written(a) == written(b));
}

// One readout of both: either may not have it.
struct Stand {
  const ShownFact* was = nullptr;
  const ShownFact* now = nullptr;
};

// Of the values that were sent upwards, where there are any: in the order of Sort they come first.
Stand Middle(const std::vector<Stand>& stands) {
  const auto up = static_cast<std::size_t>(
      std::ranges::count_if(stands, [](const Stand& s) { return s.was->step == Step::kUp; }));
  const std::size_t count = up > 0 ? up : stands.size();
  return stands.empty() ? Stand{} : stands[count / 2];
}

Stand StandOf(const Facts& was, const Facts& now) {
  std::vector<Stand> differ, same, others;
  for (const ShownFact* a : was) {
    const auto b = std::ranges::find_if(now, [&](const ShownFact* f) { return IsSame(*a, *f); });
    if (b == now.end() || !IsLook(*a)) continue;
    const bool alike = a->shown == (*b)->shown;
    (alike ? IsPoint(*a) ? same : others : IsPoint(*a) ? differ : others).push_back({a, *b});
  }
  std::erase_if(others, [](const Stand& s) { return s.was->shown == s.now->shown; });
  for (const auto* stands : {&differ, &others, &same}) {
    if (!stands->empty()) return Middle(*stands);
  }
  const auto any = [](const Facts& facts) {
    return facts.empty() ? nullptr : facts[facts.size() / 2];
  };
  return {any(was), any(now)};
}

// The lamp it has, as any fact of it told.
std::string LampOf(const Facts& facts) {
  for (const ShownFact* f : facts) {
    if (!f->shown.lamp.empty()) return sweep::LampName(f->shown.lamp);
  }
  return {};
}

class Pairs {
 public:
  Pairs(const sweep::WhatItShowed& was, const sweep::WhatItShowed& now,
        const sweep::Comparison& comparison)
      : was_(Grouped(was)), now_(Grouped(now)), comparison_(comparison) {
    for (const sweep::ShownChange& change : comparison.changes) changed_.insert(change.readout);
  }

  std::vector<PagePair> All() {
    for (const std::string& readout : comparison_.readouts) Place(readout);
    std::vector<PagePair> out;
    for (auto& [number, pair] : pages_) {
      if (!touched_.contains(number)) continue;
      for (Page* page : {&pair.was, &pair.now}) {
        page->number = number;
        page->last = std::max(pages_.rbegin()->first, 1);
      }
      pair.was.head = "As it was";
      pair.now.head = "As it is now";
      pair.number = number;
      out.push_back(std::move(pair));
    }
    return out;
  }

 private:
  static const Facts& Of(const ByReadout& groups, const std::string& readout) {
    static const Facts kNone;
    const auto found = groups.find(readout);
    return found == groups.end() ? kNone : found->second;
  }
  void Place(const std::string& readout) {
    const Facts &was = Of(was_, readout), &now = Of(now_, readout);
    const Stand stand = StandOf(was, now);
    const bool is_changed = changed_.contains(readout);
    const std::string lamp = LampOf(was).empty() ? LampOf(now) : LampOf(was);
    for (const auto& [fact, page] :
         {std::pair(stand.was, &PagePair::was), std::pair(stand.now, &PagePair::now)}) {
      if (fact == nullptr || fact->shown.state == "absent") continue;
      const int number = std::max(fact->shown.page, 1);
      PageField field{readout, sweep::Spoken(readout), lamp, fact->shown, is_changed};
      (pages_[number].*page).fields.push_back(std::move(field));
      if (!is_changed) continue;
      touched_.insert(number);
      Say(readout, *fact, pages_[number].sent);
    }
  }
  static void Say(const std::string& readout, const ShownFact& fact,
                  std::vector<std::string>& sent) {
    std::string said = sweep::Spoken(readout) + " ";
    if (IsPoint(fact) && fact.input) {
      said += "at " + sweep::Plain(*fact.input) + (fact.step == Step::kDown ? ", from above" : "");
    } else {
      said += sweep::Name(fact.step);
    }
    if (std::ranges::find(sent, said) == sent.end()) sent.push_back(std::move(said));
  }

  ByReadout was_, now_;
  const sweep::Comparison& comparison_;
  std::set<std::string> changed_;
  std::map<int, PagePair> pages_;
  std::set<int> touched_;
};

}  // namespace

std::vector<PagePair> SideBySide(const sweep::WhatItShowed& was, const sweep::WhatItShowed& now,
                                 const sweep::Comparison& comparison) {
  return Pairs(was, now, comparison).All();
}

}  // namespace drycrank::picture
