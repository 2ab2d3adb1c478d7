// SPDX-License-Identifier: Apache-2.0
#include "tools/measurement_book.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "io/sha256.h"
#include "tools/utc_minute.h"

namespace drycrank::tools {
namespace {

using Value = nlohmann::ordered_json;

constexpr const char* kFormat = "drycrank measurements";
constexpr int kNumber = 1;

std::string Line(const Value& value) {
  return value.dump(-1, ' ', false, Value::error_handler_t::replace);
}

std::string Text(const Value& line, const char* key) {
  const auto at = line.find(key);
  return at != line.end() && at->is_string() ? at->get<std::string>() : "";
}

int Number(const Value& line, const char* key) {
  const auto at = line.find(key);
  return at != line.end() && at->is_number_integer() ? at->get<int>() : 0;
}

std::string Contents(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

// Whole lines only: the last may have been cut by a crash.
std::vector<std::string> LinesOf(const std::string& text) {
  std::vector<std::string> lines;
  std::size_t begin = 0;
  for (std::size_t end = 0; (end = text.find('\n', begin)) != std::string::npos; begin = end + 1) {
    lines.push_back(text.substr(begin, end - begin));
  }
  return lines;
}

}  // namespace

std::string MeasurementBook::Open(const std::string& folder, bool to_add) {
  const std::filesystem::path path = std::filesystem::path(folder) / "measurements";
  path_ = path.string();
  // record.json says what was run, events.csv what came of it.
  record_ = io::Sha256OfFile(folder + "/record.json").value_or("") + " " +
            io::Sha256OfFile(folder + "/events.csv").value_or("");
  if (!to_add) return Read(LinesOf(Contents(path)));
  if (const std::string taken = owner_.Take(folder); !taken.empty()) return taken;
  if (const std::string problem = journal_.Open(path_); !problem.empty()) return problem;
  return Read(journal_.lines());
}

std::string MeasurementBook::Read(const std::vector<std::string>& lines) {
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const Value line = Value::parse(lines[i], nullptr, false);
    const bool head = line.is_object() && line.contains("format");
    if (i == 0 && (!head || Text(line, "format") != kFormat)) {
      return fmt::format("{} does not hold readings of a diagnosis; move it away", path_);
    }
    if (!line.is_object()) return fmt::format("{}:{}: no reading can be read here", path_, i + 1);
    if (head) {
      if (Number(line, "format_version") > kNumber) {
        return fmt::format("{} is of a newer drycrank (format {}; this one reads {})", path_,
                           Number(line, "format_version"), kNumber);
      }
      of_before_ += static_cast<int>(readings_.size());
      readings_.clear();
      last_ = 0;
      has_head_ = Text(line, "record") == record_;
      continue;
    }
    if (const int number = Number(line, "take_back"); number > 0) {
      std::erase_if(readings_, [&](const KeptReading& r) { return r.number == number; });
      continue;
    }
    last_ = Number(line, "number");
    readings_.push_back({last_, Text(line, "said"), Text(line, "time"), Text(line, "by"),
                         Text(line, "meter")});
  }
  if (has_head_) return "";
  of_before_ += static_cast<int>(readings_.size());
  readings_.clear();
  last_ = 0;
  return "";
}

std::string MeasurementBook::Begin() {
  if (has_head_) return "";
  has_head_ = true;
  return journal_.Append(
      Line({{"format", kFormat}, {"format_version", kNumber}, {"record", record_}}));
}

std::string MeasurementBook::Add(const std::string& said, const std::string& by,
                                 const std::string& meter) {
  if (const std::string problem = Begin(); !problem.empty()) return problem;
  const KeptReading reading{last_ + 1, said, UtcMinute(), by, meter};
  Value line{{"number", reading.number}, {"time", reading.time}, {"by", reading.by}, {"said", said}};
  if (!meter.empty()) line["meter"] = meter;
  const std::string problem = journal_.Append(Line(line));
  if (!problem.empty()) return problem;
  ++last_;
  readings_.push_back(reading);
  return "";
}

std::string MeasurementBook::TakeBack(int number, const std::string& by) {
  const auto at = std::ranges::find(readings_, number, &KeptReading::number);
  if (at == readings_.end()) {
    std::string kept;
    for (const KeptReading& r : readings_) {
      kept += fmt::format("{}{} ({})", kept.empty() ? "" : ", ", r.number, r.said);
    }
    return fmt::format("there is no reading {} to take back; kept are: {}", number,
                       kept.empty() ? "none" : kept);
  }
  const std::string problem =
      journal_.Append(Line({{"take_back", number}, {"time", UtcMinute()}, {"by", by}}));
  if (problem.empty()) readings_.erase(at);
  return problem;
}

}  // namespace drycrank::tools
