// SPDX-License-Identifier: Apache-2.0
#include "sweep/compare_steps.h"

#include <fmt/format.h>

#include "sweep/alike.h"

namespace drycrank::sweep {
namespace {

std::string LampWord(const std::string& lamp) { return lamp.empty() ? "dark" : lamp; }
std::string Quoted(const std::string& text) { return text.empty() ? "nothing" : "'" + text + "'"; }

bool IsLimit(const ShownFact& f) {
  return f.step >= Step::kWarnsAbove && f.step <= Step::kEndsAbove;
}

// The lamp of a warning that both had.
bool IsWarning(const FactPair& p) {
  if (IsLimit(*p.first)) return p.first->input && p.second->input;
  return IsPoint(*p.first) && p.first->shown.state == "warning" &&
         p.second->shown.state == "warning";
}
bool IsQuiet(const FactPair& p) {
  return IsPoint(*p.first) && p.first->shown.state == "ok" && p.second->shown.state == "ok";
}

const FactPair* At(const std::vector<FactPair>& pairs, Step step) {
  for (const FactPair& p : pairs) {
    if (p.first->step == step) return &p;
  }
  return nullptr;
}

template <class Is>
bool SayLamp(const std::vector<FactPair>& pairs, Is is, const char* when, const AddChange& add) {
  for (const FactPair& p : pairs) {
    if (!is(p) || p.first->shown.lamp == p.second->shown.lamp) continue;
    add(ChangeKind::kLamp,
        fmt::format("{} the lamp is now {}, was {}", when, LampWord(p.second->shown.lamp),
                    LampWord(p.first->shown.lamp)));
    return true;
  }
  return false;
}

void NotAvailable(const FactPair& p, const AddChange& add) {
  const Shown &was = p.first->shown, &now = p.second->shown;
  if (was.text == now.text && was.state == now.state) return;
  if (was.text != now.text) {
    add(ChangeKind::kGone, fmt::format("when its message has no value it now shows {}, was {}",
                                       Quoted(now.text), Quoted(was.text)));
  } else {
    add(ChangeKind::kState,
        fmt::format("when its message has no value it is now {}, was {}", now.state, was.state));
  }
}

void Kept(const FactPair& p, const char* when, const AddChange& add) {
  if (p.first->shown.text == p.second->shown.text) return;
  add(ChangeKind::kValue, fmt::format("{} it now shows {}, was {}", when,
                                      Quoted(p.second->shown.text), Quoted(p.first->shown.text)));
}

std::string Seconds(const ShownFact& f, const char* before) {
  return f.input ? fmt::format("{}{:.4g} s", before, *f.input) : std::string("never");
}

void Time(const std::vector<FactPair>& pairs, Step step, const char* what, const char* before,
          const AddChange& add) {
  const FactPair* p = At(pairs, step);
  if (p == nullptr) return;
  const std::string was = Seconds(*p->first, before), now = Seconds(*p->second, before);
  if (was != now) add(ChangeKind::kSwitching, fmt::format("{} {}, was {}", what, now, was));
}

// Text, state and lamp, and whatever else of the two is not the same.
std::string Whole(const ShownFact& f, const ShownFact& other) {
  std::string words =
      fmt::format("{} {} {}", Quoted(f.shown.text), f.shown.state, LampWord(f.shown.lamp));
  const auto input = [](const ShownFact& fact) {
    return fact.input ? Plain(*fact.input) : std::string("none");
  };
  if (input(f) != input(other)) words = input(f) + ", " + words;
  if (f.shown.unit != other.shown.unit) {
    words += ", " + (f.shown.unit.empty() ? "no unit" : f.shown.unit);
  }
  if (f.shown.page != other.shown.page) words += fmt::format(" on page {}", f.shown.page);
  return words;
}

}  // namespace

std::string Otherwise(const ShownFact& was, const ShownFact& now) {
  if (was.shown == now.shown && was.input && now.input) {
    return fmt::format("{}: now written as {}, was {}", StepOf(was), Plain(*now.input),
                       Plain(*was.input));
  }
  const std::string at = IsPoint(was) && was.input ? " " + Plain(*was.input) : "";
  return fmt::format("{}{}: {}, was {}", StepOf(was), at, Whole(now, was), Whole(was, now));
}

void CompareLamps(const std::vector<FactPair>& pairs, const AddChange& add) {
  const bool named = SayLamp(pairs, IsWarning, "while it warns", add);
  if (named || SayLamp(pairs, IsQuiet, "when it does not warn", add)) return;
  for (const auto& [step, when] :
       {std::pair(Step::kAfterWarning, "after the warning"),
        std::pair(Step::kOtherKeys, "when other keys are pressed"),
        std::pair(Step::kAcknowledged, "acknowledged,"),
        std::pair(Step::kAcknowledgedWarning, "acknowledged while it warns,")}) {
    const Step at = step;
    const auto is = [at](const FactPair& p) { return p.first->step == at; };
    if (SayLamp(pairs, is, when, add)) return;
  }
}

void CompareSteps(const std::vector<FactPair>& pairs, const AddChange& add) {
  if (const FactPair* p = At(pairs, Step::kNotAvailable)) NotAvailable(*p, add);
  for (const auto& [step, when] : {std::pair(Step::kKept, "after the highest or lowest there is"),
                                   std::pair(Step::kOtherKeys, "when other keys are pressed"),
                                   std::pair(Step::kAcknowledged, "acknowledged,")}) {
    if (const FactPair* p = At(pairs, step)) Kept(*p, when, add);
  }
  Time(pairs, Step::kStandsAfter, "after power came it now stands", "after ", add);
  Time(pairs, Step::kLampTest, "at power on its lamp is now lit", "until ", add);
  Time(pairs, Step::kOffAfter, "with the key off it is now dark", "after ", add);
}

}  // namespace drycrank::sweep
