// SPDX-License-Identifier: Apache-2.0
#include "profile/answers.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <set>
#include <sstream>
#include <string_view>

#include "profile/bus_nodes.h"
#include "profile/load_bench.h"
#include "yaml/include.h"
#include "yaml/nearest.h"

namespace drycrank::profile {
namespace {

// A file that is no file of answers has a problem in each line, and each is compared with every name.
constexpr std::size_t kMostProblems = 100;

struct Line {
  std::string about, answer;
  Place about_place, answer_place;
};

std::string Trimmed(std::string_view text) {
  constexpr std::string_view kAround = " \t\r\n\v\f\"";
  const auto first = text.find_first_not_of(kAround);
  if (first == std::string_view::npos) return "";
  return std::string(text.substr(first, text.find_last_not_of(kAround) - first + 1));
}

std::vector<Line> ReadCsv(Problems& problems, const std::string& file, const std::string& text) {
  std::vector<Line> lines;
  std::istringstream stream(text);
  std::string line;
  bool head = true;
  for (int number = 1; std::getline(stream, line); ++number) {
    if (Trimmed(line).empty() || line.front() == '#') continue;
    if (problems.size() >= kMostProblems) break;
    const auto comma = line.find_first_of(",;");
    if (comma == std::string::npos) {
      problems.Add({file, number, 1}, "a line without comma",
                   "write a circuit and an answer, as radiator_fan,yes");
      continue;
    }
    if (!std::exchange(head, false)) {
      lines.push_back({Trimmed(line.substr(0, comma)),
                       Trimmed(line.substr(comma + 1)),
                       {file, number, 1},
                       {file, number, static_cast<int>(comma) + 2}});
    } else if (Trimmed(line.substr(0, comma)) != "circuit") {
      problems.Add({file, number, 1}, "the first line does not name the columns",
                   "begin the file with circuit,answer");
    }
  }
  return lines;
}

std::vector<Line> ReadYaml(Problems& problems, const Node& root) {
  std::vector<Line> lines;
  if (root.kind != NodeKind::kMap) {
    problems.Add(root.Where(), std::string("the file is ") + KindName(root),
                 "write circuits with their answers, as 'radiator_fan: yes'");
    return lines;
  }
  for (const Entry& entry : root.entries) {
    lines.push_back({entry.key, entry.value.text, entry.key_spot.Where(), entry.value.Where()});
  }
  return lines;
}

}  // namespace

const char* Name(Answer answer) {
  switch (answer) {
    case Answer::kYes:
      return "yes";
    case Answer::kNo:
      return "no";
    case Answer::kSkip:
      return "skip";
    case Answer::kDark:
      return "dark";
    case Answer::kOnlyDashes:
      return "dashes";
    case Answer::kNotFitted:
      break;
  }
  return "not_fitted";
}

std::optional<Answer> ParseAnswer(std::string_view text) {
  std::string word(text);
  for (char& c : word) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  for (const Answer answer : {Answer::kYes, Answer::kNo, Answer::kSkip, Answer::kNotFitted,
                              Answer::kDark, Answer::kOnlyDashes}) {
    if (word == Name(answer)) return answer;
  }
  if (word == "y") return Answer::kYes;
  if (word == "n") return Answer::kNo;
  if (word == "s") return Answer::kSkip;
  if (word == "f") return Answer::kNotFitted;
  return std::nullopt;
}

bool Fits(std::string_view about, Answer answer) {
  return about == kDisplayQuestion || (answer != Answer::kDark && answer != Answer::kOnlyDashes);
}

LoadedAnswers LoadAnswers(const Bench& bench, const std::string& path) {
  Problems problems;
  yaml::Files files(problems);
  std::vector<Line> lines;
  if (path.ends_with(".csv")) {
    if (const auto text = files.ReadText(path, {path, 0, 0})) {
      lines = ReadCsv(problems, path, *text);
    }
  } else if (const auto root = files.ReadProfile(path, {path, 0, 0})) {
    lines = ReadYaml(problems, *root);
  }
  std::vector<std::string> known = CircuitNames(bench);
  if (bench.controller) {
    for (const ControllerOutput& output : bench.controller->outputs) known.push_back(output.name);
  }
  for (const std::string& name : BusQuestionNames(bench)) known.push_back(name);
  LoadedAnswers loaded;
  std::set<std::string> seen;
  for (const Line& line : lines) {
    if (problems.size() >= kMostProblems) {
      problems.Add(line.about_place, fmt::format("{} problems; reading ends here", kMostProblems),
                   "look at the first of them");
      break;
    }
    const auto answer = ParseAnswer(line.answer);
    if (std::find(known.begin(), known.end(), line.about) == known.end()) {
      problems.Add(line.about_place, fmt::format("there is no output or circuit '{}'", line.about),
                   yaml::Suggest(line.about, known, "name one of the bench"));
    } else if (!seen.insert(line.about).second) {
      problems.Add(line.about_place, fmt::format("'{}' is answered twice", line.about), "keep one");
    } else if (!answer || !Fits(line.about, *answer)) {
      problems.Add(line.answer_place, fmt::format("'{}' is not an answer", line.answer),
                   line.about == kDisplayQuestion ? "yes, dark, dashes, no, skip or not_fitted"
                                                  : "yes, no, skip or not_fitted");
    } else {
      loaded.answers.push_back({line.about, *answer});
    }
  }
  loaded.problems = problems.Sorted(files.names());
  if (!loaded.problems.empty()) loaded.answers.clear();
  return loaded;
}

}  // namespace drycrank::profile
