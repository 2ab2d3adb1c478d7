// SPDX-License-Identifier: Apache-2.0
#include "tools/kept_readings.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "types/plain_text.h"

namespace drycrank::tools {
namespace {

constexpr char kTitle[] = "# drycrank: what a person read";
constexpr char kBenchKey[] = "# bench: ", kHashKey[] = "# bench files: ";

std::string ValueOf(const std::vector<std::string>& lines, std::string_view key) {
  for (const std::string& line : lines) {
    if (line.starts_with(key)) return line.substr(key.size());
  }
  return {};
}

}  // namespace

std::string KeptReadings::Open(const std::string& folder, const Of& of, bool resume) {
  std::error_code none;
  std::filesystem::create_directories(folder, none);
  path_ = folder + "/" + kReadingsFile;
  const auto bytes = std::filesystem::file_size(path_, none);
  const bool has_one = !none && bytes > 0;
  if (has_one && !resume) {
    return fmt::format(
        "{} holds what was read before: --resume goes on with it; to begin anew, give another "
        "--out",
        path_);
  }
  if (std::string problem = journal_.Open(path_); !problem.empty()) return problem;
  return journal_.lines().empty() ? Begin(of) : TakeUp(of);
}

std::string KeptReadings::Begin(const Of& of) {
  for (const std::string& line :
       {std::string(kTitle), std::string("# format: 1"), kBenchKey + OneLine(of.bench.name),
        kHashKey + of.bench_hash, std::string(sweep::kReadingColumns)}) {
    if (std::string problem = journal_.Append(line); !problem.empty()) return problem;
  }
  return {};
}

std::string KeptReadings::TakeUp(const Of& of) {
  const auto& lines = journal_.lines();
  if (lines.front() != kTitle) {
    return fmt::format("{} does not hold what a person read; give another --out", path_);
  }
  if (ValueOf(lines, kBenchKey) != OneLine(of.bench.name)) {
    return fmt::format("{} is of bench {}, not {}; give another --out", path_,
                       ValueOf(lines, kBenchKey), of.bench.name);
  }
  if (ValueOf(lines, kHashKey) != of.bench_hash) {
    return fmt::format(
        "bench {} has changed since this sweep began: the same questions may be others now. Sweep "
        "anew, with another --out",
        of.bench.name);
  }
  sweep::ReadAnswers read =
      sweep::ParseReadings(of.bench, path_, fmt::format("{}\n", fmt::join(lines, "\n")));
  if (!read.problems.empty()) {
    const Diagnostic& first = read.problems.front();
    return fmt::format("{}:{}: {}; {}", path_, first.place.line, first.what, first.remedy);
  }
  readings_ = std::move(read.readings);
  return {};
}

std::string KeptReadings::Keep(const sweep::Reading& reading) {
  readings_.push_back(reading);
  return journal_.Append(sweep::LineOf(reading));
}

bool KeptReadings::Has(int question, const std::string& readout) const {
  return std::ranges::any_of(readings_, [&](const sweep::Reading& r) {
    return r.question == question && r.readout == readout;
  });
}

}  // namespace drycrank::tools
