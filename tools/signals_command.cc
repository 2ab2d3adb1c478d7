// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>

#include "io/folder_lock.h"
#include "io/result_place.h"
#include "io/whole_file.h"
#include "profile/load.h"
#include "record/edge_export.h"
#include "record/render.h"
#include "tools/commands.h"
#include "tools/result_files.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string scenario;
  std::string out;
  record::RenderOptions render;
  double from_s = 0;
  std::optional<double> to_s;
};

int Fail(const std::string& problem, int exit_code) {
  fmt::print(stderr, "drycrank signals: {}\n", problem);
  return exit_code;
}

// Of a record nothing is run again: what it holds is written in other forms.
int WriteEdges(const Options& options, io::InMaking& files) {
  record::EdgeWindow window;
  window.from_ns = FromSeconds(options.from_s);
  if (options.to_s) window.to_ns = FromSeconds(*options.to_s);
  const record::ExportedEdges result = record::ExportEdges(options.scenario, window, files.made());
  for (const bus::Damage& damage : result.damage) {
    fmt::print(stderr, "{}/edges.bin: damaged at byte {}: {}\n", options.scenario, damage.offset,
               damage.what);
  }
  if (!result.problem.empty()) {
    return Fail(files.OfPlace(result.problem), result.is_bad_input ? kBadInput : kBenchFailed);
  }
  if (const std::string problem = files.PutInPlace(); !problem.empty()) {
    return Fail(problem, kBenchFailed);
  }
  fmt::print(
      "{0}/edges.vcd: {1} level changes\n{0}/edges.csv: {2} edges\n{0}/outputs.csv: {3} lines\n",
      options.out, result.edges + result.outputs, result.edges, result.outputs);
  return result.damage.empty() ? kAllMet : kBadInput;
}

int WriteSignals(const Options& options) {
  io::FolderLock folder;
  if (std::filesystem::is_directory(options.scenario)) {
    const std::string why =
        WhyNotInto(options.out,
                   {{"", "edges.vcd", {"$"}}, {"", "edges.csv", {"0"}}, {"", "outputs.csv", {"0"}}},
                   {}, options.scenario);
    if (!why.empty()) return Fail(why, kBadInput);
    if (const std::string taken = folder.Take(options.out); !taken.empty()) {
      return Fail(taken, kBadInput);
    }
    io::InMaking files = io::InMaking::FilesIn(options.out);
    return WriteEdges(options, files);
  }
  // A frame's head has the rate in Hz up to 65535, beyond in tens (RFC 9639, 9.1.2).
  if (options.render.flac && options.render.sample_rate_hz > 65'535 && options.render.sample_rate_hz % 10 != 0) {
    return Fail("--flac needs a --sample-rate of 65535 at most, or in whole tens of Hz", kBadInput);
  }
  if (options.from_s > 0 || options.to_s) {
    return Fail("--from and --to are for the folder of a record", kBadInput);
  }
  const profile::LoadedScenario loaded = profile::LoadScenario(options.scenario);
  if (PrintProblems(loaded.problems)) return kBadInput;
  const std::string why = WhyNotInto(
      options.out,
      {{"", "edges.vcd", {"$"}}, {"", "waveforms.wav", {"RIFF"}}, {"", "waveforms.flac", {"fLaC"}}, {"", "signals.csv", {"t_s"}}},
      InputsOf(loaded.files, *loaded.scenario));
  if (!why.empty()) return Fail(why, kBadInput);
  if (const std::string taken = folder.Take(options.out); !taken.empty()) {
    return Fail(taken, kBadInput);
  }
  io::InMaking files = io::InMaking::FilesIn(options.out);
  const record::RenderResult result =
      record::Render(*loaded.bench, *loaded.scenario, options.render, files.made());
  std::string problem = files.OfPlace(result.problem);
  if (problem.empty()) problem = files.PutInPlace();
  if (!problem.empty()) return Fail(problem, kBenchFailed);
  fmt::print(
      "{0}/edges.vcd: {1} level changes\n{0}/waveforms.wav: {2} samples per channel, 1.0 is {4:g} "
      "V\n"
      "{0}/signals.csv: {3} rows\n",
      options.out, result.edges, result.samples, result.rows, result.full_scale_v);
  if (options.render.flac) fmt::print("{}/waveforms.flac: the same in 24 bits\n", options.out);
  if (result.clipped > 0) {
    fmt::print(
        "{} samples were louder than {} V and clipped; leave --full-scale out, or give a larger "
        "one\n",
        result.clipped, options.render.full_scale_v);
  }
  return kAllMet;
}

}  // namespace

void AddSignals(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "signals", "Write signals of a scenario, or edges of a record, as VCD, WAV and CSV files");
  command
      ->add_option("scenario", options->scenario, "Scenario file (YAML), or the folder of a record")
      ->required()
      ->type_name("SCENARIO");
  command->add_option("--out", options->out, "Folder for the files")
      ->required()
      ->check(HasName())
      ->type_name("DIR");
  command->add_option("--seed", options->render.seed, "Seed of the noise")->check(IsSeed());
  command->add_option("--sample-rate", options->render.sample_rate_hz, "Of waveforms.wav, Hz")
      ->check(InRange(8'000, 192'000));
  command
      ->add_option("--full-scale", options->render.full_scale_v,
                   "Volts written as 1.0; without it the least of 1, 2, 5, 10, 20, 50, ... that "
                   "nothing is louder than")
      ->check(InRange(0.1, 1000.0));
  command->add_flag("--flac", options->render.flac, "waveforms.flac too: the same samples in 24 bits, smaller");
  command
      ->add_option("--from", options->from_s, "Of a record: edges from this time on, s of the run")
      ->check(InRange(0.0, 1e9));
  command->add_option("--to", options->to_s, "Of a record: edges before this time, s of the run")
      ->check(InRange(0.0, 1e9));
  command->footer(
      "Examples:\n"
      "  drycrank signals profiles/scenarios/hill_climb/healthy.yaml --out out/signals\n"
      "  drycrank signals out/healthy --out out/signals --from 2 --to 3\n\n"
      "Of a record, edges.csv, edges.vcd and outputs.csv are written; hw-notes/record-format.md "
      "says "
      "what\nthey hold.");
  command->callback([options, &exit_code] { exit_code = WriteSignals(*options); });
}

}  // namespace drycrank::tools
