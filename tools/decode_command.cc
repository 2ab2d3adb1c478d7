// SPDX-License-Identifier: Apache-2.0
//
// A recording of bus traffic to the values in it. Columns: t_s of the recording, nine decimals;
// MESSAGE.SIGNAL; the value; its unit. What was not measured has no line.
#include <fmt/compile.h>
#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <memory>
#include <optional>

#include "bus/recording.h"
#include "bus/steady_time.h"
#include "bus/value_reader.h"
#include "io/whole_file.h"
#include "profile/load.h"
#include "record/text_file.h"
#include "tools/commands.h"
#include "tools/recording_buses.h"
#include "tools/result_files.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string in, bench, out;
  std::vector<std::string> buses;  // "vehicle=can0"
  bool overwrite = false;
};

int Fail(const std::string& problem, int code) {
  fmt::print(stderr, "drycrank decode: {}\n", problem);
  return code;
}

struct Counts {
  std::uint64_t frames = 0, values = 0, unknown = 0, elsewhere = 0;
  bus::SteadyTime steady;
};

Counts WriteValues(bus::RecordingReader& reader, RecordingBuses& buses, const profile::Bench& bench,
                   record::TextFile& file) {
  const bus::ValueReader values(bench.buses);
  Counts counts;
  file.Line("t_s,signal,value,unit");
  fmt::memory_buffer time;  // of the frame, which may have many values
  for (bus::RecordedFrame frame; reader.Next(frame); ++counts.frames) {
    counts.steady.Of(frame.t_ns);
    const int bus = buses.BusOf(frame.interface, reader.interfaces());
    if (bus < 0) {
      ++counts.elsewhere;
      continue;
    }
    time.clear();
    fmt::format_to(fmt::appender(time), FMT_COMPILE("{}.{:09},"), frame.t_ns / kNsPerS,
                   frame.t_ns % kNsPerS);
    const auto write = [&](const profile::Message& message, const profile::Signal& signal,
                           double value) {
      fmt::memory_buffer& line = file.buffer();
      line.append(time);
      fmt::format_to(fmt::appender(line), FMT_COMPILE("{}.{},{:.10g},{}"), message.name,
                     signal.name, value, signal.unit);
      file.EndLine();
      ++counts.values;
    };
    if (!values.Read(bus, frame.frame, write)) ++counts.unknown;
  }
  return counts;
}

int Decode(const Options& options) {
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  const std::string in =
      std::filesystem::is_directory(options.in) ? options.in + "/frames.pcapng" : options.in;
  std::ifstream stream(in, std::ios::binary);
  if (!stream) {
    return Fail(in + " cannot be read; give a recording, or the folder of a record", kBadInput);
  }
  RecordingBuses buses(*loaded.bench, options.buses);
  if (!buses.problem().empty()) return Fail(buses.problem(), kBadInput);
  std::error_code error;
  if (!options.out.empty() && std::filesystem::exists(options.out, error) && !options.overwrite) {
    return Fail(options.out + " is there already; give another name, or --overwrite", kBadInput);
  }
  if (!options.out.empty() && std::filesystem::equivalent(in, options.out, error)) {
    return Fail("RECORDING and --out are the same file; give another name", kBadInput);
  }
  std::vector<std::string> inputs = loaded.files;
  inputs.push_back(in);
  if (const std::string why = io::WhyNotThere({{"--out", options.out, kValuesMark}}, inputs);
      !why.empty()) {
    return Fail(why, kBadInput);
  }
  bus::RecordingReader reader(stream);
  if (!reader.format()) return Fail(in + ": " + reader.damage().front().what, kBadInput);
  io::InMaking out = io::InMaking::File(options.out);
  const auto file = options.out.empty() ? std::make_unique<record::TextFile>(
                                              "standard output", fdopen(dup(STDOUT_FILENO), "wb"))
                                        : std::make_unique<record::TextFile>(out.made());
  const Counts counts = WriteValues(reader, buses, *loaded.bench, *file);
  std::string problem = out.OfPlace(file->Close());
  if (problem.empty()) problem = out.PutInPlace();
  if (!problem.empty()) return Fail(problem, kBenchFailed);

  fmt::print(stderr,
             "{} frames, {} values; {} frames of identifiers that the bench does not have\n",
             counts.frames, counts.values, counts.unknown);
  for (const std::string& name : buses.left_out()) {
    fmt::print(stderr, "interface {} is none of the bench's buses: its frames are left out; {}\n",
               name, buses.Remedy(name));
  }
  if (const std::string words = counts.steady.Words(); !words.empty()) {
    fmt::print(stderr, "{}: {}\n", in, words);
  }
  PrintDamage(in, reader);
  if (reader.damaged() > 0) return kBadInput;
  return buses.left_out().empty() ? kAllMet : kNotShown;
}

}  // namespace

void AddDecode(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("decode", "Turn a recording of bus traffic into the values in it");
  command
      ->add_option("recording", options->in,
                   "Recording (candump log, pcapng, pcap) or the folder of a record")
      ->required()
      ->type_name("RECORDING");
  command->add_option("--bench", options->bench, "Bench file (YAML), whose messages are read")
      ->required()
      ->type_name("BENCH");
  command
      ->add_option("--bus", options->buses,
                   "Which interface of the recording is a bus of the bench; may be repeated. "
                   "Without it: the one of the same name; all, where the bench has one bus")
      ->type_name("BUS=INTERFACE");
  command->add_option("--out", options->out, "CSV file to write; without it, to standard output")
      ->check(HasName())
      ->type_name("FILE");
  command->add_flag("--overwrite", options->overwrite, "Replace the file when it is there already");
  command->footer(
      "Examples:\n"
      "  drycrank decode drive.log --bench profiles/benches/kart.yaml --out drive.csv\n"
      "  drycrank decode out/healthy --bench profiles/benches/hill_climb.yaml\n\n"
      "Columns: time in s as the recording has it, message and signal, value, unit. What a sender "
      "says\nit did not measure has no line. The undamaged parts of a recording are read; exit "
      "code "
      "2 and the\nplaces say so.");
  command->callback([options, &exit_code] { exit_code = Decode(*options); });
}

}  // namespace drycrank::tools
