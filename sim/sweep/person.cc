// SPDX-License-Identifier: Apache-2.0
#include "sweep/person.h"

#include <fmt/format.h>

#include <algorithm>
#include <ctime>
#include <map>
#include <set>
#include <utility>

#include "sweep/person_manner.h"
#include "sweep/readout_sweep.h"
#include "sweep/sent_range.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "types/decimal.h"
#include "types/nth.h"
#include "types/plain_text.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Readout;
using profile::SignalRef;

constexpr char kWarnsWord[] = "warns", kQuietWord[] = "quiet", kTextUnseen[] = "?";
constexpr int kSilent = kQuestions;

double InSignal(const Bench& bench, const Readout& readout, double shown) {
  const std::string& unit = SignalAt(bench, SignalOf(bench, readout)).unit;
  return Convert(shown, readout.unit, unit).value_or(shown);
}

// Whether the sent step is beyond the limit of the readout.
bool Warns(const Bench& bench, const Readout& readout, const SentRange& range, std::int64_t n) {
  const std::string& unit = SignalAt(bench, SignalOf(bench, readout)).unit;
  const double shown = Convert(range.At(n), unit, readout.unit).value_or(range.At(n));
  return (readout.warn_above && IsAbove(shown, *readout.warn_above)) ||
         (readout.warn_below && IsAbove(*readout.warn_below, shown));
}

// Whether it warns, as far as that was seen.
void ReadState(const Reading& reading, const Readout& readout, Shown& shown) {
  const bool is_said = reading.lamp == kWarnsWord || reading.lamp == kQuietWord;
  const bool is_unseen =
      reading.lamp == kLampUnseen || (reading.lamp.empty() && WarnsWithoutLamp(readout));
  if (is_said || is_unseen) shown.lamp.clear();
  if (is_unseen) {
    shown.state.clear();
  } else {
    shown.state = reading.lamp.empty() || reading.lamp == kQuietWord ? "ok" : "warning";
  }
}

// Nobody tells how fast a lamp blinks.
std::string WithoutSpeed(const std::string& lamp) {
  return Blinks(lamp) ? LampName(lamp) + kBlinks : lamp;
}

}  // namespace

Shown AsRead(const Reading& reading, const Readout& readout) {
  Shown shown{reading.page, reading.text, "", "ok", WithoutSpeed(reading.lamp)};
  if (reading.text == readout.dashes) {
    shown.state = "stale";
    if (reading.lamp == kQuietWord || reading.lamp == kLampUnseen) shown.lamp.clear();
    return shown;
  }
  ReadState(reading, readout, shown);
  std::string text = reading.text;
  std::ranges::replace(text, ',', '.');
  const auto end = text.find_first_not_of("+-0123456789.");
  if (!ParseNumberWithUnit(text)) return shown;
  std::string unit = end == std::string::npos ? "" : text.substr(end);
  unit.erase(0, unit.find_first_not_of(' ') == std::string::npos ? unit.size()
                                                                 : unit.find_first_not_of(' '));
  if (!unit.empty() && !CanonicalUnit(unit)) return shown;
  shown.text = text.substr(0, end);
  shown.unit = unit.empty() ? "" : *CanonicalUnit(unit);
  return shown;
}

std::optional<double> AskedAt(const Bench& bench, const Readout& readout, int question) {
  const SentRange range = SentRangeOf(SignalAt(bench, SignalOf(bench, readout)), readout);
  const auto end = [&](const std::optional<double>& shown, std::int64_t otherwise) {
    return shown ? range.Nearest(InSignal(bench, readout, *shown)) : otherwise;
  };
  const std::int64_t low = end(LowestShown(readout), range.low),
                     high = end(HighestShown(readout), range.high);
  const auto share = [&](int part) { return range.At(low + (high - low) * part / 16); };
  const auto limit = readout.warn_above ? readout.warn_above : readout.warn_below;
  std::int64_t quiet = limit ? range.Nearest(InSignal(bench, readout, *limit)) : 0;
  const std::int64_t away = readout.warn_above ? 1 : -1;
  while (limit && Warns(bench, readout, range, quiet)) quiet -= away;
  while (limit && quiet + away >= range.low && quiet + away <= range.high &&
         !Warns(bench, readout, range, quiet + away)) {
    quiet += away;
  }
  switch (question) {
    case 1:
      return share(7);
    case 2:
      return limit ? range.At(quiet) : share(5);
    case 3:
      return limit ? range.At(std::clamp(quiet + away, range.low, range.high)) : share(11);
    case kLowQuestion:
      return range.At(low);
    case kHighQuestion:
      return range.At(high);
    default:
      return std::nullopt;
  }
}

std::vector<Question> QuestionsOf(const std::vector<Readout>& readouts) {
  std::map<int, std::vector<const Readout*>> pages;
  for (const Readout& readout : readouts) pages[readout.page].push_back(&readout);
  std::vector<Question> questions;
  for (int q = 1; q <= kQuestions; ++q) {
    for (const auto& [page, on_it] : pages) questions.push_back({q, page, on_it});
  }
  return questions;
}

std::string LineOf(const Reading& reading) {
  std::string at;
  if (reading.at_s) {
    const auto time = static_cast<std::time_t>(*reading.at_s);
    std::tm utc{};
    gmtime_r(&time, &utc);
    at = fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", utc.tm_year + 1900, utc.tm_mon + 1,
                     utc.tm_mday, utc.tm_hour, utc.tm_min, utc.tm_sec);
  }
  return fmt::format("{},{},{},{},{},{}", QuestionName(reading.question), reading.page,
                     reading.readout, CsvQuoted(reading.text), CsvQuoted(reading.lamp), at);
}

bool WarnsWithoutLamp(const Readout& readout) {
  return readout.lamp.empty() && (readout.warn_above || readout.warn_below);
}

void TakeLampFromText(Reading& reading, const Readout& readout) {
  std::vector<std::string> words{kLampUnseen, kWarnsWord, kQuietWord};
  if (!readout.lamp.empty()) words = {readout.lamp + kBlinks, readout.lamp, kLampUnseen};
  for (const std::string& word : words) {
    if (!reading.text.ends_with(" " + word)) continue;
    reading.text.resize(reading.text.size() - word.size() - 1);
    reading.lamp = word;
    return;
  }
}

std::vector<std::string> TakeOutOld(std::vector<Reading>& readings, std::int64_t now_s,
                                    double greatest_age_h, bool must_be_dated) {
  std::vector<std::string> said;
  std::erase_if(readings, [&](const Reading& r) {
    const std::string which =
        fmt::format("{}: question {} on page {}", r.readout, QuestionName(r.question), r.page);
    if (!r.at_s) {
      if (must_be_dated) said.push_back(which + ": nobody wrote down when it was read");
      return must_be_dated;
    }
    const double age_h = static_cast<double>(now_s - *r.at_s) / 3600;
    if (age_h <= greatest_age_h) return false;
    said.push_back(fmt::format("{} was read {:.3g} h ago, and at most {:g} h count", which, age_h,
                               greatest_age_h));
    return true;
  });
  return said;
}

std::optional<double> SentIn(const Bench& bench, const Question& question, const Readout& readout) {
  const auto same = [&](const Readout* other) {
    return other->message == readout.message && other->signal == readout.signal;
  };
  const auto last = std::find_if(question.readouts.rbegin(), question.readouts.rend(), same);
  return AskedAt(bench, **last, question.question);
}

void SendQuestion(const Bench& bench, const Question& question, Screen& screen) {
  RestKeys(bench, screen);
  for (const Readout* readout : question.readouts) {
    const SignalRef at = SignalOf(bench, *readout);
    const auto value = SentIn(bench, question, *readout);
    screen.Silence({at.bus, at.message}, !value.has_value());
    if (value) screen.Send(at, *value);
  }
}

namespace {

// "coolant: question 3 on page 1", "coolant: its lamp when power comes".
std::string Asked(const Question& question, const Readout& readout) {
  const auto manner = MannerOf(question.question);
  return manner ? fmt::format("{}: {}", readout.name, AskedThing(*manner))
                : fmt::format("{}: question {} on page {}", readout.name, question.question,
                              readout.page);
}

// What nobody looked at is nothing that is due.
void TakeOutUnseen(const std::string& asked, const Readout& readout, ShownFact& seen,
                   ShownFact& due, PersonSaw& saw) {
  if (seen.shown.unit.empty()) due.shown.unit.clear();
  if (readout.bar && !IsBar(seen.shown.text)) {  // how many there are nobody counted
    due.shown.text = LitOf(due.shown.text);
  }
  due.shown.lamp = WithoutSpeed(due.shown.lamp);
  const bool both_stand = HasValue(seen.shown) && HasValue(due.shown);
  if (readout.lamp_latches && both_stand) {  // a lamp that stays lit does not tell the state
    seen.shown.state.clear();
    due.shown.state.clear();
  } else if (seen.shown.state.empty() && !IsTimed(due.step)) {
    due.shown.state.clear();
    due.shown.lamp.clear();
    saw.not_shown.push_back(asked + ": nobody saw whether it warns");
  }
}

// A question mark is written for what nobody saw, unless the display itself shows one.
bool IsGiven(const Reading& reading, const Readout& readout) {
  if (reading.text != kTextUnseen) return !reading.text.empty();
  const auto is_it = [](const auto& named) { return named.second == kTextUnseen; };
  return readout.dashes == kTextUnseen || std::ranges::any_of(readout.values, is_it);
}

// One readout at one question: what was read beside what was due.
void TakeReading(const Question& question, const Readout& readout, ShownFact due,
                 const std::vector<Reading>& readings, PersonSaw& saw) {
  const auto given = std::ranges::find_if(readings, [&](const Reading& r) {
    return r.question == question.question && r.readout == readout.name && IsGiven(r, readout);
  });
  const std::string asked = Asked(question, readout);
  if (given == readings.end()) {
    saw.unanswered.emplace_back(readout.name, question.question);
    return saw.not_shown.push_back(asked + kNotAnswered);
  }
  ++saw.answered;
  ShownFact seen = MannerOf(question.question)
                       ? MannerSeen(*given, readout, due)
                       : ShownFact{readout.name, due.step, due.input, AsRead(*given, readout),
                                   due.question};
  if (given->lamp == kLampUnseen && !HasValue(due.shown) && !due.shown.lamp.empty()) {
    due.shown.lamp.clear();  // a latched lamp beside a value that is gone
    saw.not_shown.push_back(asked + ": nobody saw its lamp");
  }
  TakeOutUnseen(asked, readout, seen, due, saw);
  saw.facts.push_back(std::move(seen));
  saw.required.push_back(std::move(due));
}

// Whether an earlier one has sent the same of it.
bool IsAskedAgain(const Bench& bench, const Question& question, const Readout& readout) {
  Question earlier = question;
  for (earlier.question = 1; earlier.question < question.question; ++earlier.question) {
    if (SentIn(bench, earlier, readout) == SentIn(bench, question, readout)) return true;
  }
  return false;
}

// Whether what must stand there follows from more than the value that is sent.
bool FollowsOthers(const Bench& bench, const Question& question, const Readout& readout,
                   bool has_warned) {
  if (question.question == kSilent) return false;
  const bool is_kept = readout.keeps != profile::Keeps::kNothing && question.question > 1;
  return is_kept || (readout.lamp_latches && has_warned) || IsAskedAgain(bench, question, readout);
}

ShownFact DueAt(const Bench& bench, const Question& question, const Readout& readout, Shown due,
                bool has_warned) {
  const std::string& unit = SignalAt(bench, SignalOf(bench, readout)).unit;
  const auto sent = SentIn(bench, question, readout);
  const auto input =
      sent ? std::optional(Convert(*sent, unit, readout.unit).value_or(*sent)) : std::nullopt;
  const Step step = question.question == kSilent ? Step::kGoneAfter : Step::kUp;
  const int at = FollowsOthers(bench, question, readout, has_warned) ? question.question : 0;
  return {readout.name, step, input, std::move(due), at};
}

}  // namespace

PersonSaw TakeReadings(const Bench& bench, const std::vector<Reading>& readings) {
  PersonSaw saw;
  const Bench required = AsRequired(bench);
  const std::vector<Readout> readouts = RequiredReadouts(bench);
  StandinScreen screen(required);
  std::set<std::string> has_warned;
  for (const Question& question : QuestionsOf(readouts)) {
    SendQuestion(bench, question, screen);
    const std::vector<Shown> due = screen.LookAtAll();
    const auto due_of = [&](const Readout& readout) {
      return Nth(due, profile::IndexOf(required.display->gauges, readout.name));
    };
    for (const Readout* r : question.readouts) {
      ShownFact at = DueAt(bench, question, *r, due_of(*r), has_warned.contains(r->name));
      TakeReading(question, *r, std::move(at), readings, saw);
    }
    for (const Readout& r : readouts) {
      if (due_of(r).state == "warning") has_warned.insert(r.name);
    }
  }
  for (const Question& question : MannerQuestionsOf(bench, readouts)) {
    std::vector<ShownFact> due = MannerDue(bench, question, screen);
    for (std::size_t i = 0; i < due.size(); ++i) {
      TakeReading(question, *question.readouts[i], std::move(due[i]), readings, saw);
    }
  }
  Sort(saw.facts);
  Sort(saw.required);
  std::ranges::sort(saw.not_shown);
  return saw;
}

std::vector<Ended> NotAnswered(const PersonSaw& saw, bool six_only) {
  std::map<std::string, std::string> lists;
  for (const auto& [readout, question] : saw.unanswered) {
    if (six_only && question > kQuestions) continue;
    std::string& list = lists[readout];
    list += (list.empty() ? "not answered: " : ", ") + QuestionName(question);
  }
  std::vector<Ended> not_answered;
  for (auto& [readout, list] : lists) not_answered.push_back({readout, std::move(list)});
  return not_answered;
}

}  // namespace drycrank::sweep
