// SPDX-License-Identifier: Apache-2.0
//
// What a person is asked of a display beyond the six points of person.h: one question for each thing
// and page, of the readouts that have it. In the column `question` stands the name of the thing:
//
//   not available                 its message says that it has no value: what stands there?
//   kept                          after the highest or lowest there is (keeps): what stands there?
//   after the warning             the warning is over: what do you read, and which lamp is lit?
//   acknowledged                  the same, then acknowledged
//   acknowledged while it warns   it warns and was acknowledged
//   stands after                  power comes: after how many seconds does a value stand there?
//   lamp test                     power comes: until how many seconds is the lamp lit? none: never
//   off after                     the key goes off: after how many seconds is the screen dark?
//
// A display goes on and off as a whole: the times are asked of the first readout, the lamp test of the
// first readout with each lamp. A person counts to a second (kCountedS): nearer than that is the same.
#ifndef DRYCRANK_SWEEP_PERSON_MANNER_H_
#define DRYCRANK_SWEEP_PERSON_MANNER_H_

#include <optional>
#include <string>
#include <vector>

#include "sweep/person.h"
#include "sweep/standin_screen.h"

namespace drycrank::sweep {

// What the question asks; nothing: one of the six points.
std::optional<Step> MannerOf(int question);
// "3", "lamp test"; and back.
std::string QuestionName(int question);
std::optional<int> QuestionNamed(const std::string& name);

// In the order in which they are asked: by thing, then by page. They point into `readouts`.
std::vector<Question> MannerQuestionsOf(const profile::Bench& bench,
                                        const std::vector<profile::Readout>& readouts);
// Brings the display to where the question is asked. Each begins anew: none needs another before it.
// Power is switched by the person; the key is off from now on where that is the question.
void SendManner(const profile::Bench& bench, const Question& question, Screen& screen);

// For the terminal: "its message says that it has no value: what stands there?"
const char* AskedWords(Step step);
// For a list: "what it shows when its message has no value".
const char* AskedThing(Step step);
// Whether the answer is a time; and that time: seconds, or nothing for "never" and "none".
bool IsTimed(Step step);
struct CountedTime {
  std::optional<double> s;
};
std::optional<CountedTime> CountedTimeOf(const std::string& text);  // nothing: it is no time

// What the required display shows there, of the question's readouts in their order. `required` has
// been asked all that comes before.
std::vector<ShownFact> MannerDue(const profile::Bench& bench, const Question& question,
                                 StandinScreen& required);
// The reading as a fact, beside what is due; from `due` goes what a person did not look at.
ShownFact MannerSeen(const Reading& reading, const profile::Readout& readout, ShownFact& due);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_PERSON_MANNER_H_
