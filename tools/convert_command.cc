// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <optional>

#include "io/recording_files.h"
#include "tools/commands.h"
#include "tools/recording_buses.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string in;
  std::string out;
  bool overwrite = false;
  double from_s = 0;
  std::optional<double> to_s;
  std::vector<std::string> interfaces;
};

// Seconds of --from and --to count from the first frame.
struct Stretch {
  explicit Stretch(const Options& options) : options_(options) {}
  bool Holds(TimeNs t_ns) {
    if (!first_ns_) first_ns_ = t_ns;
    const TimeNs since_ns = t_ns - *first_ns_;
    return since_ns >= FromSeconds(options_.from_s) &&
           (!options_.to_s || since_ns < FromSeconds(*options_.to_s));
  }

 private:
  const Options& options_;
  std::optional<TimeNs> first_ns_;
};

int Fail(const std::string& problem, int code) {
  fmt::print(stderr, "drycrank convert: {}\n", problem);
  return code;
}

// Frames of the wanted interfaces, with the numbers they have in the new file.
class Copier {
 public:
  Copier(const Options& options, bus::RecordingReader& reader, io::RecordingFiles& files)
      : options_(options), reader_(reader), files_(files) {}

  void Copy() {
    Stretch stretch(options_);
    for (bus::RecordedFrame frame; reader_.Next(frame);) {
      if (!stretch.Holds(frame.t_ns) || !IsWanted(frame.interface)) continue;
      const auto given = static_cast<std::size_t>(frame.interface);
      if (given >= numbers_.size()) numbers_.resize(given + 1, -1);
      if (numbers_[given] < 0) {
        numbers_[given] = count_++;
        files_.AddInterface(reader_.interfaces()[given]);
      }
      frame.interface = numbers_[given];
      files_.Write(frame);
    }
  }

 private:
  bool IsWanted(int interface) const {
    const auto& wanted = options_.interfaces;
    const std::string& name = Nth(reader_.interfaces(), interface);
    return wanted.empty() || std::find(wanted.begin(), wanted.end(), name) != wanted.end();
  }

  const Options& options_;
  bus::RecordingReader& reader_;
  io::RecordingFiles& files_;
  std::vector<int> numbers_;  // by interface of the old file; -1: not met yet
  int count_ = 0;
};

int Convert(const Options& options) {
  const std::string in =
      std::filesystem::is_directory(options.in) ? options.in + "/frames.pcapng" : options.in;
  std::ifstream stream(in, std::ios::binary);
  if (!stream)
    return Fail(in + " cannot be read; give a recording, or the folder of a record", kBadInput);
  std::error_code error;
  if (std::filesystem::equivalent(in, options.out, error)) {
    return Fail("IN and OUT are the same file; give another name", kBadInput);
  }
  bus::RecordingReader reader(stream);
  if (!reader.format()) return Fail(in + ": " + reader.damage().front().what, kBadInput);
  io::RecordingOptions wish;
  wish.path = options.out;
  wish.overwrite = options.overwrite;
  std::unique_ptr<io::RecordingFiles> files;
  const std::string refused = io::RecordingFiles::Open(wish, files);
  if (!refused.empty()) return Fail(refused, kBadInput);
  Copier(options, reader, *files).Copy();
  const std::string problem = files->Close();
  if (!problem.empty()) return Fail(problem, kBenchFailed);

  fmt::print("{}: {} frames", options.out, files->written());
  if (reader.passed_over() > 0 && reader.format() == bus::RecordingFormat::kCandumpLog) {
    fmt::print(", {} lines without a frame passed over", reader.passed_over());
  }
  fmt::print("\n");
  PrintDamage(in, reader);
  if (reader.damaged() == 0) return kAllMet;
  return Fail("the undamaged part is in " + options.out, kBadInput);
}

}  // namespace

void AddConvert(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("convert", "Turn a recording of bus traffic into another format");
  command
      ->add_option("in", options->in,
                   "Recording (candump log, pcapng, pcap) or the folder of a record")
      ->required()
      ->type_name("IN");
  command->add_option("out", options->out, "File to write, .log (candump log) or .pcapng")
      ->required()
      ->type_name("OUT");
  command
      ->add_option("--from", options->from_s,
                   "Leave out frames before this time, s from the first frame")
      ->check(CLI::Range(0.0, 1e9));
  command
      ->add_option("--to", options->to_s,
                   "Leave out frames after this time, s from the first frame")
      ->check(CLI::Range(0.0, 1e9));
  command
      ->add_option("--interface", options->interfaces, "Only frames of this one; may be repeated")
      ->type_name("NAME");
  command->add_flag("--overwrite", options->overwrite, "Replace OUT when it is there already");
  command->footer(
      "Examples:\n"
      "  drycrank convert drive.log drive.pcapng\n"
      "  drycrank convert out/healthy healthy.log --from 2 --to 5\n\n"
      "The undamaged parts of a recording are converted; exit code 2 and the places say so.");
  command->callback([options, &exit_code] { exit_code = Convert(*options); });
}

}  // namespace drycrank::tools
