// SPDX-License-Identifier: Apache-2.0
#include "tools/person_sweep.h"

#include <fmt/format.h>

#include <ctime>
#include <functional>

#include "io/real_clock.h"
#include "tools/ask_person.h"
#include "tools/commands.h"
#include "tools/display_camera.h"
#include "tools/display_pictures.h"
#include "tools/kept_readings.h"
#include "yaml/include.h"

namespace drycrank::tools {
namespace {

using Readouts = std::vector<profile::Readout>;

PersonRead Failed(std::string problem, int exit_code) {
  PersonRead read;
  read.problem = std::move(problem);
  read.exit_code = exit_code;
  return read;
}

// While the values go out on the bus. Empty, or what failed.
PersonRead WhileDriven(const profile::Bench& bench, const PersonWish& wish,
                       const std::function<std::string(EchoScreen&)>& act) {
  if (wish.buses.empty()) {
    return Failed(
        "somebody must see the display while it is driven: give --bus, or --answers with what was "
        "read",
        kBadInput);
  }
  io::RealClock clock;
  OpenInterfaces interfaces = Open(bench, wish.buses, clock);
  if (!interfaces.problem.empty()) {
    return Failed(interfaces.problem, interfaces.bad_input ? kBadInput : kBenchFailed);
  }
  if (!Arm(interfaces.by_bus, wish.arming).may_drive) return Failed("", kBadInput);
  CatchStopSignals();
  clock.Start();
  EchoScreen screen(bench, interfaces.by_bus, clock);
  std::string problem = act(screen);
  return problem.empty() ? PersonRead() : Failed(std::move(problem), kBenchFailed);
}

PersonRead Asked(const profile::Bench& bench, const Readouts& readouts, const PersonWish& wish) {
  KeptReadings kept;
  if (wish.buses.empty()) return WhileDriven(bench, wish, {});
  const KeptReadings::Of of{bench, wish.bench_hash};
  if (std::string why = kept.Open(wish.out, of, wish.resume); !why.empty()) {
    return Failed(why, kBadInput);
  }
  PersonRead read = WhileDriven(
      bench, wish, [&](EchoScreen& screen) { return AskPerson(bench, readouts, screen, kept); });
  read.readings = kept.readings();
  if (StopAsked()) {
    fmt::print("\nStopped with {} answers, kept in {}; the same with --resume goes on.\n",
               kept.readings().size(), kept.path());
  }
  return read;
}

PersonRead FromFile(const profile::Bench& bench, const PersonWish& wish) {
  yaml::Problems problems;
  yaml::Files files(problems);
  const auto text = files.ReadText(wish.answers, {wish.answers, 0, 0});
  if (PrintProblems(problems.Sorted({wish.answers})) || !text) return Failed("", kBadInput);
  sweep::ReadAnswers given = sweep::ParseReadings(bench, wish.answers, *text, std::time(nullptr));
  if (PrintProblems(given.problems)) return Failed("", kBadInput);
  PersonRead read;
  read.readings = std::move(given.readings);
  return read;
}

PersonRead FromPictures(const profile::Bench& bench, const Readouts& readouts,
                        const PersonWish& wish) {
  std::string folder = wish.pictures;
  if (!wish.camera.empty() && wish.marks.empty()) {
    return Failed(
        "where will the readouts stand on the pictures? Give --marks FILE; "
        "hw-notes/displays.md shows one",
        kBadInput);
  }
  if (!wish.camera.empty()) {
    folder = wish.out + "/pictures";
    PersonRead taken = WhileDriven(bench, wish, [&](EchoScreen& screen) {
      return TakePictures(bench, readouts, wish.camera, folder, screen);
    });
    if (taken.exit_code != 0) return taken;
  }
  auto seen = SeePictures(bench, folder, wish.marks, wish.out);
  if (!seen) return Failed("", kBadInput);
  PersonRead read;
  read.readings = std::move(seen->readings);
  read.doubts = std::move(seen->doubts);
  read.missing = std::move(seen->missing);
  read.without_picture = std::move(seen->without_picture);
  return read;
}

}  // namespace

PersonRead ReadByPerson(const profile::Bench& bench, const Readouts& readouts,
                        const PersonWish& wish) {
  const bool by_pictures = !wish.pictures.empty() || !wish.camera.empty();
  PersonRead read = by_pictures            ? FromPictures(bench, readouts, wish)
                    : wish.answers.empty() ? Asked(bench, readouts, wish)
                                           : FromFile(bench, wish);
  if (read.exit_code != 0) return read;
  read.not_shown =
      sweep::TakeOutOld(read.readings, std::time(nullptr), wish.greatest_age_h, wish.age_is_said);
  return read;
}

std::vector<std::string> NotShownLines(const profile::Bench& bench, const PersonRead& read,
                                       const sweep::PersonSaw& saw) {
  std::vector<std::string> lines = read.not_shown;
  for (const std::string& what : saw.not_shown) {
    if (!what.ends_with(sweep::kNotAnswered)) lines.push_back(what);
  }
  lines.insert(lines.end(), read.missing.begin(), read.missing.end());
  const auto missing = sweep::MissingAnswers(bench, saw, read.without_picture);
  lines.insert(lines.end(), missing.begin(), missing.end());
  return lines;
}

std::string NextStep(const PersonWish& wish, const sweep::PersonSaw& saw) {
  if (saw.unanswered.empty()) return {};
  if (!wish.pictures.empty() || !wish.camera.empty()) {
    return "take the pictures that are missing or in doubt again, and read what they cannot show "
           "yourself (--person)";
  }
  if (!wish.answers.empty()) {
    return fmt::format("write what is missing into {} and sweep again; hw-notes/displays.md has "
                       "the names of the questions",
                       wish.answers);
  }
  return "the same command with --resume asks for what is missing, and for nothing else";
}

}  // namespace drycrank::tools
