// SPDX-License-Identifier: Apache-2.0
#include "tools/display_accept.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <vector>

#include "io/folder_lock.h"
#include "profile/load.h"
#include "study/campaign_run.h"
#include "study/play.h"
#include "sweep/due_again.h"
#include "sweep/either_side.h"
#include "sweep/sweep.h"
#include "sweep/where_not_so.h"
#include "sweep/which_setting.h"
#include "tools/commands.h"
#include "tools/shown_files.h"
#include "types/plain_text.h"

namespace drycrank::tools {
namespace {

int Fail(const std::string& problem, int code = kBadInput) {
  fmt::print(stderr, "drycrank display sweep --accept: {}\n", problem);
  return code;
}

std::optional<std::uint64_t> ReadSeed(const std::string& text) {
  std::uint64_t seed = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), seed);
  const bool is_whole = problem == std::errc() && end == text.data() + text.size();
  return is_whole ? std::optional(seed) : std::nullopt;
}

std::vector<std::string> Missing(const profile::Bench& bench, const sweep::WhatItShowed& showed) {
  std::vector<std::string> names;
  for (const profile::Readout& r : RequiredReadouts(bench)) {
    const bool there =
        std::ranges::find(showed.facts, r.name, &sweep::ShownFact::readout) != showed.facts.end();
    if (!there) names.push_back(r.name);
  }
  return names;
}

// Of which bench it is.
std::string WhyNotOfBench(const profile::Bench& bench, const std::string& hash,
                          const sweep::ShownBy& by) {
  if (by.bench != bench.name) {
    return fmt::format("it is of bench {}, not {}; sweep with this bench, then accept", by.bench,
                       bench.name);
  }
  if (by.bench_hash != hash) {
    return fmt::format("bench {} has changed since it was swept; sweep again, then accept",
                       bench.name);
  }
  return {};
}

// Empty, or why nobody may accept that and what to do first.
std::string WhyNot(const profile::Bench& bench, const std::string& hash,
                   const sweep::WhatItShowed& showed) {
  if (std::string why = WhyNotOfBench(bench, hash, showed.by); !why.empty()) return why;
  if (!showed.by.ended.empty()) {
    const sweep::Ended& e = showed.by.ended.front();
    return fmt::format("it ended too soon ({}: {}{}); sweep again, then accept", e.readout, e.why,
                       showed.by.ended.size() > 1 ? ", and others" : "");
  }
  if (showed.facts.empty()) {
    return "it holds 0 facts: nothing was seen; sweep again, and answer or connect the display";
  }
  if (const auto missing = Missing(bench, showed); !missing.empty()) {
    return fmt::format(
        "nothing was shown of {}; let the display tell them, or ask a person (--person), or leave "
        "them out of readouts; then sweep again",
        fmt::join(missing, ", "));
  }
  if (showed.by.judged.empty()) {
    return "it does not say whether it shows what must be shown; sweep again, then accept";
  }
  if (showed.by.judged == sweep::kAsRequired) return {};
  return fmt::format(
      "it contradicts what must be shown ({}); put the display right, or where the display is "
      "right correct readouts of the bench; then sweep again",
      showed.by.judged);
}

// What must be shown to such a witness.
std::vector<sweep::ShownFact> RequiredOf(const profile::Bench& bench,
                                         const sweep::WhatItShowed& showed, std::uint64_t seed) {
  const bool by_echo = showed.by.witness == sweep::kByEcho;
  if (!by_echo && showed.by.witness != sweep::kByStandin)
    return sweep::DueAgain(bench, showed.facts);
  // A real display is not switched on by a sweep; whether it was one, the file does not say.
  const bool is_switched =
      !by_echo || std::ranges::find(showed.facts, sweep::Step::kPowerOn, &sweep::ShownFact::step) !=
                      showed.facts.end();
  return sweep::SweepStandinAsSeen(sweep::AsRequired(bench), seed, by_echo, is_switched, showed)
      .facts;
}

// Whoever wrote the file may have changed it since: its facts are judged again, a line for each
// readout that does not agree, then where it stands in `file` and in the bench.
std::string WhyNotJudgedSo(const profile::Bench& bench, const sweep::WhatItShowed& showed,
                           const std::string& file) {
  const auto seed = ReadSeed(showed.by.seed);
  if (!seed) return "it does not say with which seed; sweep again, then accept";
  const sweep::WhatItShowed required{showed.by, RequiredOf(bench, showed, *seed)};
  const sweep::Comparison judged = sweep::CompareWithRequired(required, showed);
  std::vector<std::string> lines;
  for (const sweep::ShownChange& change : judged.changes) {
    lines.push_back(fmt::format("{}: {}", change.readout, change.sentence));
  }
  const auto places =
      sweep::WhereNotSo(file, showed, required, RequiredReadouts(bench), judged);
  lines.insert(lines.end(), places.begin(), places.end());
  for (const std::string& line : lines) fmt::print(stderr, "{}\n", OneLine(line));
  if (lines.empty()) return {};
  return "its facts are not as it must be, though it says so: it was changed since, or judged by "
         "another version; sweep again, then accept";
}

// What would be lost of what was accepted before, a line each.
std::vector<std::string> Lost(const sweep::WhatItShowed& kept, const sweep::WhatItShowed& showed,
                              const std::string& by) {
  std::vector<std::string> lost;
  const sweep::ShownBy &was = kept.by, &now = showed.by;
  const auto differs = [&](const char* what, const std::string& a, const std::string& b) {
    if (a != b) lost.push_back(fmt::format("{} {}; now it is {}", what, a, b));
  };
  differs("accepted by", was.accepted_by, by);
  differs("seen by", was.witness, now.witness);
  const sweep::Comparison comparison = sweep::Compare(kept, showed);
  for (const sweep::ShownChange& change : comparison.changes) {
    lost.push_back(change.readout + ": " + change.sentence);
  }
  if (lost.empty() && kept.facts != showed.facts) lost.push_back("other points than are there now");
  return lost;
}

// Empty, or why what was accepted before stays.
std::string WhyKept(const std::string& file, const profile::Bench& bench,
                    const sweep::WhatItShowed& showed, const std::string& by, bool overwrite) {
  std::error_code none;
  if (!std::filesystem::exists(file, none)) return {};
  if (std::string why = io::WhyNotReplaced({"--out", file, {sweep::kShownTitle}}); !why.empty()) {
    return why;
  }
  const auto kept = ReadShownOf(file);
  if (!kept) return file + " cannot be read; move it away first";
  if (kept->by.bench == bench.name) {
    const std::vector<std::string> lost = Lost(*kept, showed, by);
    for (const std::string& what : lost) {
      fmt::print(overwrite ? stdout : stderr, "{}: {}\n", overwrite ? "replaced" : "would be lost",
                 OneLine(what));
    }
    if (lost.empty() || overwrite) return {};
    return fmt::format(
        "{} is what {} has accepted, and that would be lost; give --overwrite where it is no "
        "longer "
        "right, or another --out",
        file, kept->by.accepted_by);
  }
  return fmt::format("{} is what bench {} was accepted with; give another --out, or move it away",
                     file, kept->by.bench);
}

}  // namespace

int AcceptShown(const std::string& bench_file, const std::string& folder, const std::string& by,
                bool overwrite) {
  if (by.empty()) return Fail("who has looked at it? Give --by NAME");
  const profile::LoadedBench loaded = profile::LoadBench(bench_file);
  if (PrintProblems(loaded.problems) || !loaded.bench) return kBadInput;
  const std::string shown_file = folder + "/" + kShownFile, file = folder + "/" + kAcceptedFile;
  auto showed = ReadShownOf(shown_file);
  if (!showed) return kBadInput;
  const std::string hash = study::HashOfFiles(loaded.files).substr(0, kHashDigits);
  std::string why_not = WhyNot(*loaded.bench, hash, *showed);
  if (why_not.empty()) why_not = WhyNotJudgedSo(*loaded.bench, *showed, shown_file);
  if (!why_not.empty()) return Fail(fmt::format("{}: {}", shown_file, why_not));
  io::FolderLock lock;
  if (const std::string used = lock.Take(folder); !used.empty()) return Fail(used);
  if (const std::string why = WhyKept(file, *loaded.bench, *showed, by, overwrite); !why.empty())
    return Fail(why);
  showed->by.accepted_by = by;
  if (const std::string problem = WriteFile(file, sweep::TextOf(*showed)); !problem.empty()) {
    return Fail(problem, kBenchFailed);
  }
  fmt::print("{}: accepted by {}, {} facts\n", file, by, showed->facts.size());
  return kAllMet;
}

}  // namespace drycrank::tools
