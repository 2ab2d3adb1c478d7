// SPDX-License-Identifier: Apache-2.0
#include "sweep/missing_answers.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>

#include "sweep/person_manner.h"

namespace drycrank::sweep {
namespace {

struct OfPage {
  std::size_t asked = 0, missing = 0;
  std::map<std::string, std::vector<std::string>> lists;  // by readout, questions
  std::map<std::string, std::size_t> asked_of;            // readout
};

std::string LineOf(int page, const OfPage& of) {
  if (of.missing == of.asked) {
    return fmt::format("page {}: none of {} answers was given", page, of.asked);
  }
  std::map<std::string, std::vector<std::string>> readouts;  // by list
  for (const auto& [readout, questions] : of.lists) {
    const bool is_all = questions.size() == of.asked_of.at(readout);
    readouts[is_all ? "all" : fmt::format("{}", fmt::join(questions, ", "))].push_back(readout);
  }
  std::vector<std::string> lists;
  for (const auto& [list, names] : readouts) {
    lists.push_back(fmt::format("{}: {}", fmt::join(names, ", "), list));
  }
  return fmt::format("page {}: {} of {} answers {} missing: {}", page, of.missing, of.asked,
                     of.missing == 1 ? "is" : "are", fmt::join(lists, "; "));
}

}  // namespace

std::vector<std::string> MissingAnswers(const profile::Bench& bench, const PersonSaw& saw,
                                        const std::set<QuestionOfPage>& but) {
  const auto readouts = RequiredReadouts(bench);
  std::vector<Question> questions = QuestionsOf(readouts);
  const auto manners = MannerQuestionsOf(bench, readouts);
  questions.insert(questions.end(), manners.begin(), manners.end());
  std::map<int, OfPage> pages;
  for (const Question& question : questions) {
    OfPage& of = pages[question.page];
    for (const profile::Readout* readout : question.readouts) {
      ++of.asked;
      ++of.asked_of[readout->name];
      const std::pair asked(readout->name, question.question);
      const bool is_missing = std::ranges::find(saw.unanswered, asked) != saw.unanswered.end();
      if (!is_missing || but.contains({question.question, question.page})) continue;
      ++of.missing;
      of.lists[readout->name].push_back(QuestionName(question.question));
    }
  }
  std::vector<std::string> lines;
  for (const auto& [page, of] : pages) {
    if (of.missing > 0) lines.push_back(LineOf(page, of));
  }
  return lines;
}

}  // namespace drycrank::sweep
