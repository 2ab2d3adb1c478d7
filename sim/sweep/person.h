// SPDX-License-Identifier: Apache-2.0
//
// A display that only listens is read by a person: one question a page, with every readout of that
// page at one of six points: a middle value, the last value that is quiet, the first that warns,
// both ends of its range, and silence. What was not answered is not shown.
//
//   question,page,readout,reading,lamp,at
//   1,1,coolant,"34 °C",,             comma or point; the unit may be left out; lamp: which is lit
//   3,1,coolant,113,red blinks,2026-03-01T09:30:00Z
//   lamp test,1,coolant,2 s,,         what a display does besides: person_manner.h
//
// lamp: of a readout that warns without one, "warns" or "quiet"; "?": nobody looked at it, as when
// a picture cannot show it. at: when it was read, UTC. lamp and at may be left out: a lamp that has
// no column, and is not typed behind its reading ("113 red"), was seen by nobody.
#ifndef DRYCRANK_SWEEP_PERSON_H_
#define DRYCRANK_SWEEP_PERSON_H_

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sweep/screen.h"

namespace drycrank::sweep {

inline constexpr int kQuestions = 6;
inline constexpr int kLowQuestion = 4, kHighQuestion = 5;  // the ends of its range

// What is sent of a readout for question 1 to 6, in its signal's unit; nothing: its message is
// silent.
std::optional<double> AskedAt(const profile::Bench& bench, const profile::Readout& readout,
                              int question);

struct Reading {
  int question = 0;  // from 1; above kQuestions: of person_manner.h
  int page = 0;
  std::string readout;
  std::string text;  // as the person gave it: "34 °C"; empty: not answered
  std::string lamp;
  std::optional<std::int64_t> at_s = {};  // seconds since 1970; nothing: not known
};
inline constexpr char kReadingColumns[] = "question,page,readout,reading,lamp,at";
std::string LineOf(const Reading& reading);
inline constexpr char kLampUnseen[] = "?";
// It can warn, and no lamp says so.
bool WarnsWithoutLamp(const profile::Readout& readout);

// Takes out what was read longer ago than that, and says so of each: "coolant: question 3 on page 1
// was read 30 h ago". `must_be_dated`: also what nobody knows the time of.
std::vector<std::string> TakeOutOld(std::vector<Reading>& readings, std::int64_t now_s,
                                    double greatest_age_h, bool must_be_dated);

struct [[nodiscard]] ReadAnswers {
  std::vector<Reading> readings;
  Diagnostics problems;
};
// Blanks around a field, a byte order mark and U+2212 for minus are understood. `now_s`: since
// 1970; what was read later than that is refused.
ReadAnswers ParseReadings(const profile::Bench& bench, const std::string& file,
                          const std::string& text, std::optional<std::int64_t> now_s = {});
// "113 red": the last word is the lamp, where the display has one of that name, or "warns",
// "quiet", "?".
void TakeLampFromText(Reading& reading, const profile::Readout& readout);

// "8,5 °C" in number and unit; a word as it is; whether it warns, as far as that was seen.
Shown AsRead(const Reading& reading, const profile::Readout& readout);

// The readings as facts beside what a display set as required shows at the same points, as far as
// the person said it. A reading that was not given has no fact, and is listed.
inline constexpr char kNotAnswered[] = " was not answered";
struct PersonSaw {
  std::vector<ShownFact> facts, required;  // sorted
  // "coolant: question 3 on page 1 was not answered", "coolant: its lamp when power comes was not
  // answered"
  std::vector<std::string> not_shown;
  int answered = 0;
  std::vector<std::pair<std::string, int>> unanswered = {};  // readout, question
};
// A line for each readout: "not answered: 3, lamp test". `six_only`: those that a picture can
// answer.
std::vector<Ended> NotAnswered(const PersonSaw& saw, bool six_only);
PersonSaw TakeReadings(const profile::Bench& bench, const std::vector<Reading>& readings);

// "page 2, question 3 of 6", and the readouts to be read there.
struct Question {
  int question = 1, page = 1;
  std::vector<const profile::Readout*> readouts;
};
std::vector<Question> QuestionsOf(const std::vector<profile::Readout>& readouts);
// What the question sends of a readout: two of one page that show the same signal get one value,
// that of the last of them. REQUIRES: `readout` is one of the question's.
std::optional<double> SentIn(const profile::Bench& bench, const Question& question,
                             const profile::Readout& readout);
// Of the six; keys rest.
void SendQuestion(const profile::Bench& bench, const Question& question, Screen& screen);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_PERSON_H_
