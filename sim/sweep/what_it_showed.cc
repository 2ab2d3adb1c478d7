// SPDX-License-Identifier: Apache-2.0
#include "sweep/what_it_showed.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <sstream>
#include <tuple>
#include <utility>

#include "sweep/alike.h"
#include "sweep/csv_fields.h"
#include "types/nth.h"
#include "types/plain_text.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

constexpr int kShownFormat = 1, kWithQuestions = 2;  // formats
constexpr char kColumns[] = "readout,step,input,page,text,unit,state,lamp";
constexpr std::size_t kColumnCount = 8;
constexpr std::string_view kAtQuestion = " at question ";
constexpr std::array<const char*, kStepCount> kSteps = {"at power on",
                                                        "up",
                                                        "down",
                                                        "warns above",
                                                        "ends below",
                                                        "warns below",
                                                        "ends above",
                                                        "gone after",
                                                        "back",
                                                        "not available",
                                                        "after the warning",
                                                        "acknowledged",
                                                        "acknowledged while it warns",
                                                        "stands after",
                                                        "lamp test",
                                                        "off after",
                                                        "kept",
                                                        "other keys"};

std::string Line(const ShownFact& f) {
  return fmt::format("{},{},{},{},{},{},{},{}\n", f.readout, StepOf(f),
                     f.input ? Plain(*f.input) : "", f.shown.page, CsvQuoted(f.shown.text),
                     f.shown.unit, f.shown.state, CsvQuoted(f.shown.lamp));
}

std::optional<Step> StepNamed(const std::string& name) {
  const auto found = std::find(kSteps.begin(), kSteps.end(), name);
  if (found == kSteps.end()) return std::nullopt;
  return static_cast<Step>(found - kSteps.begin());
}

// "up at question 4": the step, and the question.
std::pair<std::optional<Step>, int> StepAndQuestion(const std::string& text) {
  const auto at = text.find(kAtQuestion);
  if (at == std::string::npos) return {StepNamed(text), 0};
  const std::string digits = text.substr(at + kAtQuestion.size());
  const bool is_one = digits.size() == 1 && digits[0] >= '1' && digits[0] <= '9';
  if (!is_one || StepNamed(text.substr(0, at)) != Step::kUp) return {};
  return {Step::kUp, digits[0] - '0'};
}

class Parser {
 public:
  explicit Parser(const std::string& file) : file_(file) {}

  void Take(const std::string& line) {
    ++number_;
    if (line.empty()) return;
    if (number_ == 1 && line != kShownTitle) {
      Complain("the file does not begin as one of what a display showed",
               fmt::format("name one that drycrank display sweep has written; it begins with '{}'",
                           kShownTitle));
      given_up_ = true;
      return;
    }
    if (line.front() == '#') return TakeHead(line);
    if (line == kColumns) return;
    TakeFact(FieldsOf(line));
  }
  // What follows cannot be read at all.
  bool given_up() const { return given_up_; }

  WhatItShowed showed;
  Diagnostics problems;

 private:
  void Complain(std::string what, std::string remedy) {
    problems.push_back({{file_, number_, 1}, std::move(what), std::move(remedy)});
  }
  void TakeHead(const std::string& line) {
    const auto colon = line.find(": ");
    if (colon == std::string::npos || line.size() < 2) return;
    const std::string key = line.substr(2, colon - 2), value = line.substr(colon + 2);
    ShownBy& by = showed.by;
    const bool is_known =
        value == std::to_string(kShownFormat) || value == std::to_string(kWithQuestions);
    if (key == "format" && !is_known) {
      Complain(fmt::format("format {} is not known", value),
               fmt::format("this drycrank reads formats {} and {}; use the one that wrote the file",
                           kShownFormat, kWithQuestions));
      given_up_ = true;
    }
    if (key == "bench") by.bench = value;
    if (key == "bench files") by.bench_hash = value;
    if (key == "version") by.version = value;
    if (key == "seed") by.seed = value;
    if (key == "seen by") by.witness = value;
    if (key == "accepted by") by.accepted_by = value;
    if (key == "judged") by.judged = value;
    if (key == "ended") TakeEnded(value, by.ended);
    if (key == "not shown") TakeEnded(value, by.not_shown);
    if (key == "smoothed") by.smoothed.push_back(value);
  }
  static void TakeEnded(const std::string& value, std::vector<Ended>& list) {
    const auto colon = value.find(": ");
    if (colon != std::string::npos) {
      list.push_back({value.substr(0, colon), value.substr(colon + 2)});
    }
  }
  void TakeFact(const std::vector<std::string>& fields) {
    if (fields.size() != kColumnCount) {
      Complain(fmt::format("a line of {} fields", fields.size()),
               fmt::format("each has {}: {}", kColumnCount, kColumns));
      return;
    }
    const auto [step, question] = StepAndQuestion(fields[1]);
    const auto page = ParseNumberWithUnit(fields[3]);
    const auto input = ParseNumberWithUnit(fields[2]);
    if (!step || !page || (!input && !fields[2].empty())) {
      Complain(fmt::format("'{}' is not a {}",
                           !step   ? fields[1]
                           : !page ? fields[3]
                                   : fields[2],
                           !step ? "step" : "number"),
               "restore the line, or sweep the display again");
      return;
    }
    ShownFact fact{fields[0],
                   *step,
                   {},
                   {static_cast<int>(page->value), fields[4], fields[5], fields[6], fields[7]},
                   question,
                   number_};
    if (input) fact.input = input->value;
    if (IsNew(fact)) showed.facts.push_back(std::move(fact));
  }
  // A readout shows one thing at a point.
  bool IsNew(const ShownFact& fact) {
    const auto [before, is_new] =
        places_.try_emplace(fact.readout + "," + KeyOf(fact), std::pair(number_, Line(fact)));
    const auto& [line, text] = before->second;
    if (is_new || text == Line(fact)) return is_new;
    Complain(fmt::format("{}, {}{}: this line contradicts {}:{}:1", fact.readout, StepOf(fact),
                         fact.input ? " " + Plain(*fact.input) : "", file_, line),
             "remove the one that is wrong, or sweep the display again");
    return false;
  }

  std::string file_;
  int number_ = 0;
  bool given_up_ = false;
  std::map<std::string, std::pair<int, std::string>> places_;  // of a fact: its line, what it says
};

}  // namespace

std::vector<std::string> FieldsOf(const std::string& line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') quoted = !quoted;
    if (c == ',' && !quoted) {
      fields.emplace_back();
    } else {
      fields.back() += c;
    }
  }
  for (std::string& field : fields) field = CsvUnquoted(field);
  return fields;
}

const char* Name(Step step) { return Nth(kSteps, step); }

std::string StepOf(const ShownFact& f) {
  if (f.question == 0) return Name(f.step);
  return fmt::format("{}{}{}", Name(f.step), kAtQuestion, f.question);
}

std::string LampName(const std::string& lamp) { return lamp.substr(0, lamp.find(kBlinks)); }

bool Blinks(const std::string& lamp) { return lamp.find(kBlinks) != std::string::npos; }

std::string LitOf(const std::string& text) {
  const auto at = text.find(kLitOf);
  const auto is_count = [](std::string_view part) {
    return !part.empty() && part.find_first_not_of("0123456789") == std::string_view::npos;
  };
  const bool is_bar = at != std::string::npos && is_count(std::string_view(text).substr(0, at)) &&
                      is_count(std::string_view(text).substr(at + std::string_view(kLitOf).size()));
  return is_bar ? text.substr(0, at) : text;
}

bool IsBar(const std::string& text) { return LitOf(text) != text; }

bool operator==(const ShownFact& a, const ShownFact& b) {
  const auto written = [](const ShownFact& f) { return f.input ? Plain(*f.input) : ""; };
  return a.readout == b.readout && a.step == b.step && a.question == b.question &&
         a.shown == b.shown && written(a) == written(b);
}

std::string Plain(double number) { return fmt::format("{:.6g}", number + 0.0); }

void Sort(std::vector<ShownFact>& facts) {
  const auto key = [](const ShownFact& f) {
    return std::tuple(std::string_view(f.readout), f.step, f.input.value_or(0), f.question);
  };
  std::stable_sort(facts.begin(), facts.end(),
                   [key](const ShownFact& a, const ShownFact& b) { return key(a) < key(b); });
}

std::string TextOf(const WhatItShowed& showed) {
  const bool has_questions = std::ranges::any_of(
      showed.facts, [](const ShownFact& f) { return f.question > 0; });
  std::string text = fmt::format("{}\n# format: {}\n", kShownTitle,
                                 has_questions ? kWithQuestions : kShownFormat);
  const auto head = [&text](const char* key, const std::string& value) {
    if (!value.empty()) text += fmt::format("# {}: {}\n", key, OneLine(value));
  };
  head("bench", showed.by.bench);
  head("bench files", showed.by.bench_hash);
  head("version", showed.by.version);
  head("seed", showed.by.seed);
  head("seen by", showed.by.witness);
  head("judged", showed.by.judged);
  for (const std::string& name : showed.by.smoothed) head("smoothed", name);
  for (const Ended& e : showed.by.ended) head("ended", e.readout + ": " + e.why);
  for (const Ended& e : showed.by.not_shown) head("not shown", e.readout + ": " + e.why);
  head("accepted by", showed.by.accepted_by);
  text += fmt::format("{}\n", kColumns);
  for (const ShownFact& fact : showed.facts) text += Line(fact);
  return text;
}

ReadShown ParseShown(const std::string& file, const std::string& text) {
  Parser parser(file);
  std::istringstream stream(text);
  std::string line;
  while (!parser.given_up() && std::getline(stream, line)) {
    if (!line.empty() && line.back() == '\r') line.pop_back();
    parser.Take(line);
  }
  if (text.empty()) parser.Take("(empty)");
  if (!parser.problems.empty()) return {std::nullopt, std::move(parser.problems)};
  Sort(parser.showed.facts);
  return {std::move(parser.showed), {}};
}

double NicestIn(double low, double high, bool above_low) {
  constexpr int kMostDigits = 12;
  for (int digits = -6; digits < kMostDigits; ++digits) {
    const double power = std::pow(10.0, digits),
                 slack = 1e-9 * std::max(1.0, std::abs(low) * power);
    const double nice =
        above_low ? std::floor(high * power + slack) : std::ceil(low * power - slack);
    const bool inside = above_low ? nice > low * power + slack : nice < high * power - slack;
    if (inside) return nice / power + 0.0;
  }
  return above_low ? high : low;
}

}  // namespace drycrank::sweep
