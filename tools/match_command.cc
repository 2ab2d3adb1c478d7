// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "capture/match.h"
#include "profile/load.h"
#include "profile/wheel_part.h"
#include "tools/commands.h"
#include "tools/match_text.h"
#include "tools/result_files.h"

namespace drycrank::tools {

void AddMatch(CLI::App& app, int& exit_code);

namespace {

namespace fs = std::filesystem;

struct Options {
  std::string bench, capture, map, learn, json;
  std::vector<std::string> parts;
  double sample_rate_hz = 0;
  capture::MatchOptions match;
  double fixed_advance_deg = -1;
};

// The folder of wheels beside the bench's, as profiles/ has it.
std::vector<std::string> PartFolders(const Options& options) {
  if (!options.parts.empty()) return options.parts;
  const fs::path beside = fs::path(options.bench).parent_path() / ".." / "parts" / "wheels";
  std::error_code error;
  return fs::is_directory(beside, error)
             ? std::vector<std::string>{beside.lexically_normal().string()}
             : std::vector<std::string>{};
}

// False: a problem was said.
bool ReadParts(const Options& options, std::vector<capture::WheelPart>& parts) {
  bool is_good = true;
  for (const std::string& folder : PartFolders(options)) {
    std::error_code error;
    std::vector<std::string> files;
    for (const auto& entry : fs::directory_iterator(folder, error)) {
      if (entry.path().extension() == ".yaml") files.push_back(entry.path().string());
    }
    if (error) fmt::print(stderr, "drycrank match: {}: {}\n", folder, error.message());
    is_good = is_good && !error;
    std::ranges::sort(files);
    for (const std::string& file : files) {
      const profile::LoadedWheel loaded = profile::LoadWheelPart(file);
      is_good = !PrintProblems(loaded.problems) && is_good;
      if (loaded.problems.empty()) parts.push_back({file, loaded.wheel});
    }
  }
  return is_good;
}

// Empty, or what could not be written.
std::string WriteLearnt(const Options& options, const capture::MatchResult& result) {
  if (options.learn.empty()) return "";
  if (!result.learnt)
    return options.learn + " was not written: nothing in the crank's channel repeats";
  const std::string name = fs::path(options.learn).stem().string();
  const std::string problem = WriteFile(
      options.learn,
      capture::PartFile(*result.learnt, name, fs::path(options.capture).filename().string()));
  if (problem.empty()) fmt::print("{}: the crank's wheel, as it is seen\n", options.learn);
  return problem;
}

int ExitCodeOf(const capture::MatchResult& result) {
  if (result.Any(capture::Says::kOff)) return kExpectationFailed;
  return result.Any(capture::Says::kCannotTell) ? kNotShown : kAllMet;
}

int RunMatch(Options options) {
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  std::vector<std::string> inputs = loaded.files;
  inputs.insert(inputs.end(), {options.capture, options.map});
  if (const std::string why = io::WhyNotThere({{"--json", options.json, kJsonMark},
                                               {"--learn", options.learn, {"#", "# Learnt from "}}},
                                              inputs);
      !why.empty()) {
    fmt::print(stderr, "drycrank match: {}\n", why);
    return kBadInput;
  }
  std::vector<capture::WheelPart> parts;
  if (!ReadParts(options, parts)) return kBadInput;
  capture::ChannelMap map;
  if (!options.map.empty()) map = capture::ReadMap(options.map, *loaded.bench);
  if (PrintProblems(map.problems)) return kBadInput;
  if (options.sample_rate_hz > 0) map.hints.rate_hz = options.sample_rate_hz;
  if (options.fixed_advance_deg >= -0.5)
    options.match.fixed_advance_deg = options.fixed_advance_deg;
  const capture::MatchResult result =
      capture::Match(*loaded.bench, options.capture, map, parts, options.match);
  if (PrintProblems(result.problems)) return kBadInput;
  fmt::print("{}", MatchInWords(*loaded.bench, options.capture, result));
  std::string problem =
      options.json.empty() ? "" : WriteFile(options.json, MatchAsJson(options.capture, result));
  if (problem.empty()) problem = WriteLearnt(options, result);
  if (problem.empty()) return ExitCodeOf(result);
  fmt::print(stderr, "drycrank match: {}\n", problem);
  return kBenchFailed;
}

}  // namespace

void AddMatch(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "match", "Lay a bench's wheels and outputs under a capture of the engine, in degrees");
  command->add_option("bench", options->bench, "Bench file (YAML)")->required()->type_name("BENCH");
  command
      ->add_option("capture", options->capture,
                   "What an oscilloscope, logic analyser or sound card wrote: CSV, WAV, VCD, .sr")
      ->required()
      ->type_name("CAPTURE");
  command
      ->add_option("--map", options->map,
                   "Which column is what (YAML). Without it, columns are called as triggers and "
                   "outputs of the bench")
      ->type_name("FILE");
  command->add_option("--sample-rate", options->sample_rate_hz, "Hz, of a CSV file without times")
      ->check(InRange(1.0, 1e10));
  command
      ->add_option("--parts", options->parts,
                   "Folder of wheels to try besides the bench's own; may be repeated. Without it: "
                   "parts/wheels beside the bench's folder")
      ->type_name("DIR");
  command
      ->add_option("--tolerance", options->match.tolerance_deg,
                   "Degrees of the crank that may be off")
      ->check(InRange(0.1, 45.0));
  command
      ->add_option("--fixed-advance", options->fixed_advance_deg,
                   "The controller was told to fire so many degrees before top dead centre: says "
                   "what its offset should be")
      ->check(InRange(0.0, 60.0));
  command
      ->add_option("--learn", options->learn,
                   "Write the crank's wheel, as it is seen, as a part file")
      ->type_name("FILE");
  command->add_option("--json", options->json, "Write the result as JSON")->type_name("FILE");
  command->footer(
      "Exit code 0: in order. 1: something is off, said in degrees. 2: the capture cannot be used. "
      "4: nothing is off,\n"
      "and something cannot be told from this capture. How to take one: hw-notes/captures.md.\n\n"
      "Examples:\n"
      "  drycrank match profiles/benches/hill_climb.yaml cranking.wav --map channels.yaml\n"
      "  drycrank match profiles/benches/hill_climb.yaml idle.sr --fixed-advance 10");
  command->callback([options, &exit_code] { exit_code = RunMatch(*options); });
}

}  // namespace drycrank::tools
