// SPDX-License-Identifier: Apache-2.0
#include "tools/answer_book.h"

#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

#include "types/format_number.h"
#include "types/plain_text.h"

namespace drycrank::tools {
namespace {

using Value = nlohmann::ordered_json;

constexpr const char* kFormat = "drycrank walk answers";

std::string Line(const Value& value) {
  return value.dump(-1, ' ', false, Value::error_handler_t::replace);
}

std::string Text(const Value& json, const char* key) {
  const auto at = json.find(key);
  return at != json.end() && at->is_string() ? OneLine(at->get<std::string>()) : "";
}

Value ValueOf(const profile::MeterReading& reading) {
  Value value{{"from", reading.plus}, {"to", reading.minus}, {"time", reading.time}};
  value["ohm"] = std::isinf(reading.ohm) ? Value("open") : Value(reading.ohm);
  if (!reading.by.empty()) value["by"] = reading.by;
  if (!reading.meter.empty()) value["meter"] = reading.meter;
  return value;
}

std::vector<profile::MeterReading> ReadingsOf(const Value& line) {
  std::vector<profile::MeterReading> readings;
  const auto at = line.find("readings");
  if (at == line.end() || !at->is_array()) return readings;
  for (const Value& value : *at) {
    if (!value.is_object()) continue;
    const auto ohm = value.find("ohm");
    const bool number = ohm != value.end() && ohm->is_number();
    readings.push_back({Text(value, "from"), Text(value, "to"),
                        number ? ohm->get<double>() : std::numeric_limits<double>::infinity(),
                        Text(value, "time"), Text(value, "by"), Text(value, "meter")});
  }
  return readings;
}

// Of the format; a book without number is of the first.
std::int64_t NumberOf(const Value& head) {
  const auto at = head.find("format_version");
  return at != head.end() && at->is_number_integer() ? at->get<std::int64_t>() : 1;
}

// Has somebody said anything in it, behind its head?
bool HoldsWords(const std::filesystem::path& file) {
  std::ifstream text(file);
  std::string line;
  return std::getline(text, line) && std::getline(text, line) && !line.empty();
}

// What people have said is not thrown away for a walk that may never get far; what nobody has said does
// not take the place of what somebody has. Empty when nothing of it is in the way any more.
std::string PutAside(const std::filesystem::path& folder) {
  for (const std::string name : {"answers", "signatures", "measurements"}) {
    std::error_code error;
    if (HoldsWords(folder / name)) {
      std::filesystem::rename(folder / name, folder / (name + ".before"), error);
    } else {
      std::filesystem::remove(folder / name, error);
    }
    if (error && error != std::errc::no_such_file_or_directory) {
      return fmt::format("put {} aside: {}", (folder / name).string(), error.message());
    }
  }
  return "";
}

}  // namespace

std::string AnswerBook::Open(const std::string& folder, const Head& head, bool resume,
                             bool overwrite) {
  if (folder.empty()) return resume ? "--resume needs --out, the folder to take up again" : "";
  const std::filesystem::path path = std::filesystem::path(folder) / "answers";
  if (const std::string taken = owner_.Take(folder); !taken.empty()) return taken;
  const bool has_book = std::filesystem::exists(path);
  const bool has_record = std::filesystem::exists(path.parent_path() / "record.json");
  if (has_book && !resume && !overwrite) {
    return fmt::format(
        "{} holds a walk already: --resume goes on with it, --overwrite begins "
        "anew",
        folder);
  }
  if (!has_book && has_record && !overwrite) {
    return fmt::format(
        "{} holds a record and no walk's answers, so there is no walk to go on with; give another "
        "--out, or --overwrite",
        folder);
  }
  keeps_ = true;
  path_ = path.string();
  head_ = head;
  waits_ = overwrite && !(has_book && resume) && (has_book || has_record);
  return waits_ ? "" : OpenJournal();
}

std::string AnswerBook::OpenJournal() {
  if (const std::string problem = journal_.Open(path_); !problem.empty()) return problem;
  if (!journal_.lines().empty()) {
    resumes_ = true;
    return ReadLines(path_, head_);
  }
  return journal_.Append(Line({{"format", kFormat},
                               {"format_version", kAnswersFormat},
                               {"bench", head_.bench},
                               {"bench_hash", head_.bench_hash},
                               {"walk", head_.walk}}));
}

std::string AnswerBook::Begin() {
  if (!waits_) return "";
  waits_ = false;
  std::string problem = PutAside(std::filesystem::path(path_).parent_path());
  if (problem.empty()) problem = OpenJournal();
  for (const profile::GivenAnswer& answer : answers_) {
    if (problem.empty()) problem = Append(answer);
  }
  return problem;
}

std::string AnswerBook::ReadLines(const std::string& path, const Head& head) {
  const Value first = Value::parse(journal_.lines()[0], nullptr, false);
  if (!first.is_object() || Text(first, "format") != kFormat) {
    return fmt::format("{} does not hold a walk's answers; give another --out", path);
  }
  const std::string why = WhyNotRead(NumberOf(first), kAnswersFormat);
  if (!why.empty()) return fmt::format("{}: {}; give another --out", path, why);
  if (Text(first, "bench") != head.bench) {
    return fmt::format("{} is of bench {}, not {}; give another --out", path, Text(first, "bench"),
                       head.bench);
  }
  if (Text(first, "bench_hash") != head.bench_hash) {
    return fmt::format(
        "bench {} has changed since this walk began: its answers may not be true any "
        "more. Walk it anew, with another --out or --overwrite",
        head.bench);
  }
  if (Text(first, "walk") != OneLine(head.walk)) {
    return fmt::format("this walk began as \"{}\"; go on with the same options",
                       Text(first, "walk"));
  }
  for (std::size_t i = 1; i < journal_.lines().size(); ++i) {
    const Value line = Value::parse(journal_.lines()[i], nullptr, false);
    const auto answer =
        line.is_object() ? profile::ParseAnswer(Text(line, "answer")) : std::nullopt;
    if (!answer) return fmt::format("{}:{}: no answer can be read here", path, i + 1);
    Keep({Text(line, "about"), *answer, ReadingsOf(line)});
  }
  taken_up_ = answers_.size();
  return "";
}

std::optional<profile::Answer> AnswerBook::About(const std::string& name) const {
  for (const profile::GivenAnswer& given : answers_) {
    if (given.about == name) return given.answer;
  }
  return std::nullopt;
}

void AnswerBook::Keep(const profile::GivenAnswer& answer) {
  for (profile::GivenAnswer& given : answers_) {
    if (given.about != answer.about) continue;
    given = answer;
    return;
  }
  answers_.push_back(answer);
}

std::string AnswerBook::Append(const profile::GivenAnswer& answer) {
  Value line{{"about", answer.about}, {"answer", profile::Name(answer.answer)}};
  for (const profile::MeterReading& reading : answer.readings) line["readings"].push_back(ValueOf(reading));
  return journal_.Append(Line(line));
}

std::string AnswerBook::Add(const profile::GivenAnswer& answer) {
  if (About(answer.about) == answer.answer && answer.readings.empty()) return "";
  if (keeps_ && !waits_) {
    if (const std::string problem = Append(answer); !problem.empty()) return problem;
  }
  Keep(answer);
  return "";
}

}  // namespace drycrank::tools
