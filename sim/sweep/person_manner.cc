// SPDX-License-Identifier: Apache-2.0
#include "sweep/person_manner.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <set>

#include "bus/layout.h"
#include "sweep/readout_sweep.h"
#include "sweep/sweep.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Readout;
using profile::SignalRef;

constexpr double kWatchedTimes = 2, kWatchedMoreS = 2;  // how long going on and off is watched

struct Manner {
  Step step;
  const char* words;
  const char* thing;
};
constexpr std::array kManners = {
    Manner{Step::kNotAvailable, "its message says that it has no value: what stands there?",
           "what it shows when its message has no value"},
    Manner{Step::kKept, "after the highest or lowest there is: what stands there?",
           "what it keeps"},
    Manner{Step::kAfterWarning, "the warning is over: what do you read, and which lamp is lit?",
           "its lamp once the warning is over"},
    Manner{Step::kAcknowledged,
           "the warning is over and was acknowledged: what do you read, and which lamp is lit?",
           "its lamp once it is acknowledged"},
    Manner{Step::kAcknowledgedWarning,
           "it warns and was acknowledged: what do you read, and which lamp is lit?",
           "its lamp acknowledged while it warns"},
    Manner{Step::kStandsAfter,
           "switch its power off and on: after how many seconds does a value stand there? (2 s, or "
           "never)",
           "how soon a value stands there when power comes"},
    Manner{
        Step::kLampTest,
        "switch its power off and on: until how many seconds is the lamp lit, without a warning? "
        "(2 s, or none)",
        "its lamp when power comes"},
    Manner{Step::kOffAfter,
           "the key has just gone off: after how many seconds is the screen dark? (3 s, or never)",
           "how soon the screen is dark with the key off"}};

const Manner& Of(Step step) { return *std::ranges::find(kManners, step, &Manner::step); }

// ---- of which readouts ------------------------------------------------------------------------

bool HasLampAfterwards(const Readout& r) {
  return (r.warn_above || r.warn_below) && !r.lamp.empty() &&
         (r.lamp_latches || !r.acknowledged_by.empty());
}

bool HasKeyOff(const Bench& bench) {
  const auto required = RequiredSwitching(bench);
  return required && profile::FindSignal(bench, required->key).signal >= 0;
}

bool Has(const Bench& bench, const Readout& readout, Step step) {
  switch (step) {
    case Step::kNotAvailable:
      return bus::CanSayNotAvailable(SignalAt(bench, SignalOf(bench, readout)));
    case Step::kKept:
      return readout.keeps != profile::Keeps::kNothing;
    case Step::kAfterWarning:
      return HasLampAfterwards(readout);
    case Step::kAcknowledged:
    case Step::kAcknowledgedWarning:
      return HasLampAfterwards(readout) && !readout.acknowledged_by.empty();
    case Step::kStandsAfter:
      return RequiredSwitching(bench).has_value();
    case Step::kLampTest:
      return RequiredSwitching(bench).has_value() && !readout.lamp.empty();
    default:
      return HasKeyOff(bench);
  }
}

// Of the times only one of each: what the display, or the lamp, does as a whole.
std::string OnceOf(const Readout& readout, Step step) {
  if (!IsTimed(step)) return readout.name;
  return step == Step::kLampTest ? readout.lamp : "";
}

// ---- what is sent -----------------------------------------------------------------------------

class Sender {
 public:
  Sender(const Bench& bench, const Question& question, Screen& screen)
      : bench_(bench), question_(question), screen_(screen) {}

  void Do(Step step) {
    Begin();
    switch (step) {
      case Step::kNotAvailable:
        return Each([](const Readout&) { return std::nan(""); });
      case Step::kKept:
        Acknowledge();
        Each([this](const Readout& r) { return FarEnd(r); });
        return ThenQuiet();
      case Step::kAfterWarning:
        Warn();
        return ThenQuiet();
      case Step::kAcknowledged:
        Warn();
        ThenQuiet();
        screen_.LetArrive();
        return Acknowledge();
      case Step::kAcknowledgedWarning:
        Warn();
        screen_.LetArrive();
        return Acknowledge();
      case Step::kOffAfter:
        ThenQuiet();
        screen_.LetArrive();
        return screen_.Send(profile::FindSignal(bench_, RequiredSwitching(bench_)->key), 0);
      default:
        return ThenQuiet();
    }
  }

 private:
  // All messages come, and all values are quiet: a warning that is asked about is a new one, and no
  // key was pressed in it.
  void Begin() {
    for (int b = 0; b < static_cast<int>(bench_.buses.size()); ++b) {
      const int count = static_cast<int>(Nth(bench_.buses, b).messages.size());
      for (int m = 0; m < count; ++m) screen_.Silence({b, m}, false);
    }
    RestKeys(bench_, screen_);
    ThenQuiet();
    screen_.LetArrive();
  }
  void Each(const std::function<double(const Readout&)>& value) {
    for (const Readout* r : question_.readouts) screen_.Send(SignalOf(bench_, *r), value(*r));
  }
  void ThenQuiet() {
    screen_.LetArrive();
    Each([this](const Readout& r) { return QuietValue(bench_, r); });
  }
  void Warn() {
    Each([this](const Readout& r) {
      return WarningValue(bench_, r).value_or(QuietValue(bench_, r));
    });
  }
  double FarEnd(const Readout& readout) const {
    const int end = readout.keeps == profile::Keeps::kHighest ? kHighQuestion : kLowQuestion;
    return AskedAt(bench_, readout, end).value_or(0);
  }
  void Acknowledge() {
    std::set<std::string> keys;
    for (const Readout* r : question_.readouts) keys.insert(r->acknowledged_by);
    for (const std::string& key : keys) {
      const SignalRef at = profile::FindSignal(bench_, key);
      if (key.empty() || at.signal < 0) continue;
      for (const double pressed : {1.0, 0.0}) {
        screen_.Send(at, pressed);
        screen_.LetArrive();
      }
    }
  }

  const Bench& bench_;
  const Question& question_;
  Screen& screen_;
};

}  // namespace

std::optional<Step> MannerOf(int question) {
  if (question <= kQuestions) return std::nullopt;
  return Nth(kManners, question - kQuestions - 1).step;
}

std::string QuestionName(int question) {
  const auto manner = MannerOf(question);
  return manner ? Name(*manner) : std::to_string(question);
}

std::optional<int> QuestionNamed(const std::string& name) {
  for (int q = 1; q <= kQuestions + static_cast<int>(kManners.size()); ++q) {
    if (QuestionName(q) == name) return q;
  }
  return std::nullopt;
}

std::vector<Question> MannerQuestionsOf(const Bench& bench, const std::vector<Readout>& readouts) {
  std::vector<const Readout*> by_page;
  for (const Readout& readout : readouts) by_page.push_back(&readout);
  std::ranges::stable_sort(by_page, {}, [](const Readout* r) { return r->page; });
  std::vector<Question> questions;
  int number = kQuestions;
  for (const Manner& manner : kManners) {
    ++number;
    std::map<int, Question> pages;
    std::set<std::string> asked;
    for (const Readout* readout : by_page) {
      if (!Has(bench, *readout, manner.step)) continue;
      if (!asked.insert(OnceOf(*readout, manner.step)).second) continue;
      Question& question = pages[readout->page];
      question.question = number;
      question.page = readout->page;
      question.readouts.push_back(readout);
    }
    for (auto& [page, question] : pages) questions.push_back(std::move(question));
  }
  return questions;
}

void SendManner(const Bench& bench, const Question& question, Screen& screen) {
  Sender(bench, question, screen).Do(*MannerOf(question.question));
}

const char* AskedWords(Step step) { return Of(step).words; }
const char* AskedThing(Step step) { return Of(step).thing; }

// ---- times ------------------------------------------------------------------------------------

bool IsTimed(Step step) {
  return step == Step::kStandsAfter || step == Step::kLampTest || step == Step::kOffAfter;
}

std::optional<CountedTime> CountedTimeOf(const std::string& text) {
  if (text == "never" || text == kNoTest) return CountedTime{};
  std::string with_point = text;
  std::ranges::replace(with_point, ',', '.');
  const auto number = ParseNumberWithUnit(with_point);
  if (!number || number->value < 0) return std::nullopt;
  if (number->unit.empty()) return CountedTime{number->value};
  const auto s = Convert(number->value, number->unit, "s");
  return s ? std::optional(CountedTime{*s}) : std::nullopt;
}

// ---- what is due, what was seen -----------------------------------------------------------------

namespace {

const char* TimeText(Step step, const std::optional<double>& s) {
  if (step != Step::kLampTest) return "";
  return s ? kLitUntil : kNoTest;
}

// As the sweep by stand-in measures it; nothing of the screen but the time.
ShownFact TimeDue(const Bench& bench, const Readout& readout, Step step, StandinScreen& required) {
  const profile::Switching set = *RequiredSwitching(bench);
  const auto most_s = [](double ms) { return kWatchedTimes * 1e-3 * ms + kWatchedMoreS; };
  std::optional<double> s;
  if (step == Step::kOffAfter) {
    s = required.OffAfterS(readout, most_s(set.off_after_ms));
  } else if (const auto started =
                 required.WatchStart(readout, most_s(set.dark_ms + set.lamp_test_ms))) {
    s = step == Step::kLampTest ? started->lit_until_s : started->stands_after_s;
  }
  required.SwitchOn();
  return {readout.name, step, s, {.text = TimeText(step, s)}};
}

std::optional<double> InputOf(const Bench& bench, const Readout& readout, Step step) {
  if (step != Step::kKept) return std::nullopt;
  const Scale scale(SignalAt(bench, SignalOf(bench, readout)), readout);
  return scale.Shown(QuietValue(bench, readout));
}

}  // namespace

std::vector<ShownFact> MannerDue(const Bench& bench, const Question& question,
                                 StandinScreen& required) {
  const Step step = *MannerOf(question.question);
  SendManner(bench, question, required);
  std::vector<ShownFact> due;
  if (IsTimed(step)) {
    for (const Readout* r : question.readouts) due.push_back(TimeDue(bench, *r, step, required));
    return due;
  }
  required.LetArrive();
  for (const Readout* r : question.readouts) {
    const auto shown = required.Look(*r);
    due.push_back({r->name, step, InputOf(bench, *r, step), shown.value_or(Shown{})});
  }
  return due;
}

ShownFact MannerSeen(const Reading& reading, const Readout& readout, ShownFact& due) {
  ShownFact seen{readout.name, due.step, due.input, {}};
  if (IsTimed(due.step)) {
    seen.input = CountedTimeOf(reading.text).value_or(CountedTime{}).s;
    seen.shown.text = TimeText(due.step, seen.input);
    return seen;
  }
  seen.shown = AsRead(reading, readout);
  if (due.step != Step::kNotAvailable) return seen;
  // A word for "no value" is known by what must stand there; its lamp is not asked for, and is
  // judged where somebody tells one.
  if (reading.text == due.shown.text) seen.shown.state = due.shown.state;
  if (seen.shown.state.empty()) seen.shown.state = "ok";
  const bool tells_lamp = !reading.lamp.empty() && reading.lamp != kLampUnseen;
  if (tells_lamp) return seen;
  seen.shown.lamp.clear();
  due.shown.lamp.clear();
  return seen;
}

}  // namespace drycrank::sweep
