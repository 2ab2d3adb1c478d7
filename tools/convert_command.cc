// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <optional>

#include "bus/steady_time.h"
#include "io/recording_files.h"
#include "io/whole_file.h"
#include "tools/commands.h"
#include "tools/recording_buses.h"
#include "tools/result_files.h"
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
    const TimeNs since_ns = steady_.Of(t_ns);
    return since_ns >= FromSeconds(options_.from_s) &&
           (!options_.to_s || since_ns < FromSeconds(*options_.to_s));
  }

  std::string Words() const { return steady_.Words(); }

 private:
  const Options& options_;
  bus::SteadyTime steady_;
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
    for (bus::RecordedFrame frame; reader_.Next(frame);) {
      if (!stretch_.Holds(frame.t_ns) || !IsWanted(frame.interface)) continue;
      const auto given = AsSize(frame.interface);
      if (given >= numbers_.size()) numbers_.resize(given + 1, -1);
      if (numbers_[given] < 0) {
        numbers_[given] = count_++;
        files_.AddInterface(reader_.interfaces()[given]);
      }
      frame.interface = numbers_[given];
      files_.Write(frame);
    }
  }

  // Those asked for that no frame is of.
  std::string NotMet() const {
    std::string names;
    for (const std::string& wanted : options_.interfaces) {
      if (std::ranges::count(reader_.interfaces(), wanted) > 0) continue;
      names += (names.empty() ? "" : ", ") + wanted;
    }
    return names;
  }
  std::string Words() const { return stretch_.Words(); }

 private:
  bool IsWanted(int interface) const {
    const auto& wanted = options_.interfaces;
    const std::string& name = Nth(reader_.interfaces(), interface);
    return wanted.empty() || std::find(wanted.begin(), wanted.end(), name) != wanted.end();
  }

  const Options& options_;
  Stretch stretch_{options_};
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
  if (const std::string why =
          io::WhyNotThere({{"OUT", options.out, RecordingMark(options.out)}}, {in});
      !why.empty()) {
    return Fail(why, kBadInput);
  }
  bus::RecordingReader reader(stream);
  if (!reader.format()) return Fail(in + ": " + reader.damage().front().what, kBadInput);
  if (std::filesystem::is_regular_file(options.out, error)) {
    if (!options.overwrite) {
      return Fail(
          options.out + " is there already; give another name, or --overwrite to replace it",
          kBadInput);
    }
    const std::string held = io::RecordingFiles::WhyNotReplaced(options.out);
    if (!held.empty()) return Fail(held, kBadInput);
  }
  io::InMaking out = io::InMaking::File(options.out);
  io::RecordingOptions wish;
  wish.path = out.made();
  wish.overwrite = true;
  std::unique_ptr<io::RecordingFiles> files;
  const std::string refused = io::RecordingFiles::Open(wish, files);
  if (!refused.empty()) return Fail(out.OfPlace(refused), kBadInput);
  Copier copier(options, reader, *files);
  copier.Copy();
  if (const std::string names = copier.NotMet(); !names.empty()) {
    return Fail(
        fmt::format("--interface {}: no frame of {} is of that; it has {}. Nothing is written",
                    names, in, fmt::join(reader.interfaces(), ", ")),
        kBadInput);
  }
  std::string problem = out.OfPlace(files->Close());
  if (problem.empty()) problem = out.PutInPlace();
  if (!problem.empty()) return Fail(problem, kBenchFailed);

  fmt::print("{}: {} frames", options.out, files->written());
  if (reader.passed_over() > 0 && reader.format() == bus::RecordingFormat::kCandumpLog) {
    fmt::print(", {} lines without a frame passed over", reader.passed_over());
  }
  fmt::print("\n");
  if (const std::string back = copier.Words(); !back.empty()) {
    fmt::print(stderr, "{}: {}\n", in, back);
  }
  PrintDamage(in, reader);
  if (reader.damaged() == 0 && files->written() == 0 && reader.unread() > 0)
    return Fail(in + " holds no CAN frame that could be read", kBadInput);
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
      ->check(InRange(0.0, 1e9));
  command
      ->add_option("--to", options->to_s,
                   "Leave out frames after this time, s from the first frame")
      ->check(InRange(0.0, 1e9));
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
