// SPDX-License-Identifier: Apache-2.0
//
// What a person read, from a CSV file as people and their spreadsheets write it.
#include <fmt/format.h>

#include <algorithm>
#include <ctime>
#include <set>
#include <sstream>
#include <utility>

#include "sweep/csv_fields.h"
#include "sweep/person.h"
#include "sweep/person_manner.h"
#include "sweep/why_not_read.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

using profile::Bench;
using profile::Readout;

constexpr std::size_t kColumnCount = 6, kFewestColumns = 4;
constexpr std::int64_t kClocksApartS = 300;  // ours, no source
constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF", kMinusSign = "\xE2\x88\x92";

bool IsHead(const std::string& line) { return line.starts_with("question,page,readout,reading"); }

bool IsAsked(const std::vector<Question>& questions, int question, const std::string& readout) {
  return std::ranges::any_of(questions, [&](const Question& q) {
    return q.question == question &&
           std::ranges::find(q.readouts, readout, &Readout::name) != q.readouts.end();
  });
}

// "2026-03-01T09:30:00Z" in seconds since 1970.
std::optional<std::int64_t> SecondsOf(const std::string& text) {
  std::tm utc{};
  const char* end = strptime(text.c_str(), "%Y-%m-%dT%H:%M:%SZ", &utc);
  if (text.empty() || end == nullptr || *end != '\0') return std::nullopt;
  return static_cast<std::int64_t>(timegm(&utc));
}

// Without blanks around it, a minus sign as a keyboard has it.
std::string Cleaned(std::string text) {
  const auto from = text.find_first_not_of(" \t"), to = text.find_last_not_of(" \t");
  text = from == std::string::npos ? std::string() : text.substr(from, to - from + 1);
  for (auto at = text.find(kMinusSign); at != std::string::npos; at = text.find(kMinusSign)) {
    text.replace(at, kMinusSign.size(), "-");
  }
  return text;
}

class AnswersFile {
 public:
  AnswersFile(const Bench& bench, std::string file, std::optional<std::int64_t> now_s)
      : readouts_(RequiredReadouts(bench)),
        manners_(MannerQuestionsOf(bench, readouts_)),
        file_(std::move(file)),
        now_s_(now_s) {}

  void Take(std::string line) {
    ++number_;
    if (number_ == 1 && line.starts_with(kByteOrderMark)) line.erase(0, kByteOrderMark.size());
    if (!line.empty() && line.back() == '\r') line.pop_back();
    if (Cleaned(line).empty() || line.front() == '#' || IsHead(line)) return;
    if (std::ranges::count(line, '"') % 2 != 0) {
      return Complain("a quotation mark without a second one",
                      "close it, or leave it out; a reading with a comma stands between two");
    }
    std::vector<std::string> fields = FieldsOf(line);
    for (std::string& field : fields) field = Cleaned(field);
    const std::size_t count = fields.size();
    if (count < kFewestColumns || count > kColumnCount) {
      return Complain(fmt::format("a line of {} fields", count),
                      fmt::format("write {}", kReadingColumns));
    }
    fields.resize(kColumnCount);
    TakeFields(fields, count > kFewestColumns);
  }
  ReadAnswers out;

 private:
  void Complain(std::string what, std::string remedy) {
    out.problems.push_back({{file_, number_, 1}, std::move(what), std::move(remedy)});
  }
  void TakeFields(const std::vector<std::string>& fields, bool has_lamp_column) {
    const auto question = QuestionNamed(fields[0]);
    const auto page = ParseNumberWithUnit(fields[1]);
    if (!question || !page) {
      return Complain(
          fmt::format("there is no question '{}' on page '{}'", fields[0], fields[1]),
          fmt::format("questions 1 to {}, or '{}' and the like, and the page it was read on",
                      kQuestions, Name(Step::kNotAvailable)));
    }
    const int readout = profile::IndexOf(readouts_, fields[2]);
    if (readout < 0) {
      return Complain(fmt::format("there is no readout '{}'", fields[2]), "name one of the bench");
    }
    if (!IsAnswer(*question, fields) || !IsDated(fields[5])) return;
    if (!given_.insert({*question, fields[2]}).second) {
      return Complain(fmt::format("question {} about '{}' is answered twice", fields[0], fields[2]),
                      "keep one");
    }
    Reading reading{*question, static_cast<int>(page->value), fields[2], fields[3],
                    fields[4], SecondsOf(fields[5])};
    const Readout& asked = Nth(readouts_, readout);
    SayLamp(reading, asked, has_lamp_column);
    if (!IsRead(reading, asked)) return;
    out.readings.push_back(std::move(reading));
  }
  bool IsAnswer(int question, const std::vector<std::string>& fields) {
    const auto manner = MannerOf(question);
    if (manner && !IsAsked(manners_, question, fields[2])) {
      Complain(fmt::format("'{}' is not asked of '{}'", fields[0], fields[2]), "leave it out");
      return false;
    }
    if (manner && IsTimed(*manner) && !fields[3].empty() && !CountedTimeOf(fields[3])) {
      Complain(fmt::format("'{}' is no time", fields[3]), "write it as 2 s; or never, or none");
      return false;
    }
    return true;
  }
  bool IsDated(const std::string& at) {
    const auto at_s = SecondsOf(at);
    if (!at.empty() && !at_s) {
      Complain(fmt::format("'{}' is no time", at), "write it as 2026-03-01T09:30:00Z");
      return false;
    }
    if (at_s && now_s_ && *at_s > *now_s_ + kClocksApartS) {
      Complain(fmt::format("'{}' is still to come", at),
               "correct when it was read (UTC), or the clock of this computer");
      return false;
    }
    return true;
  }
  bool IsRead(const Reading& reading, const Readout& readout) {
    const auto manner = MannerOf(reading.question);
    if (manner && IsTimed(*manner)) return true;
    const auto why = WhyNotRead(reading, readout);
    if (why) Complain(why->what, why->remedy);
    return !why;
  }
  // Typed behind the reading, or in its column; where neither is there, nobody said that it is dark.
  static void SayLamp(Reading& reading, const Readout& readout, bool has_lamp_column) {
    const auto manner = MannerOf(reading.question);
    if (manner && (IsTimed(*manner) || *manner == Step::kNotAvailable)) return;
    if (reading.lamp.empty()) TakeLampFromText(reading, readout);
    if (reading.lamp.empty() && !has_lamp_column && !readout.lamp.empty()) {
      reading.lamp = kLampUnseen;
    }
  }

  std::vector<Readout> readouts_;
  std::vector<Question> manners_;
  std::string file_;
  std::optional<std::int64_t> now_s_;
  std::set<std::pair<int, std::string>> given_;
  int number_ = 0;
};

}  // namespace

ReadAnswers ParseReadings(const Bench& bench, const std::string& file, const std::string& text,
                          std::optional<std::int64_t> now_s) {
  AnswersFile answers(bench, file, now_s);
  std::istringstream stream(text);
  std::string line;
  while (std::getline(stream, line)) answers.Take(std::move(line));
  return std::move(answers.out);
}

}  // namespace drycrank::sweep
