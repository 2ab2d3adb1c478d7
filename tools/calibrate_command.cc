// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <iterator>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "bus/driven.h"
#include "io/bench_meter.h"
#include "io/whole_file.h"
#include "output/abilities.h"
#include "output/calibration.h"
#include "profile/load.h"
#include "profile/output_device.h"
#include "report/text.h"
#include "tools/arming.h"
#include "tools/bench_line.h"
#include "tools/commands.h"
#include "tools/level_player.h"
#include "tools/make_output.h"
#include "tools/meter_dialogue.h"
#include "tools/stop_signals.h"
#include "tools/typed_value.h"
#include "types/plain_text.h"
#include "types/nth.h"
#include "types/unit.h"
#include "yaml/nearest.h"

namespace drycrank::tools {

void AddCalibrate(CLI::App& app, int& exit_code);

namespace {

namespace out = profile::out;
using protocol::MeterQuantity;

struct Options {
  std::string bench, output, meter;
  ArmingWish arming;
  bool write = false;
};

int Fail(const std::string& why, int code = kBadInput) {
  fmt::print(stderr, "drycrank calibrate: {}\n", why);
  return code;
}

void Say(const std::string& text) {
  fmt::print("{}", text);
  std::fflush(stdout);
}

// What is calibrated of one channel.
struct Channel {
  int index = 0;
  const profile::OutputChannel* at = nullptr;
  double full_scale_v = 0;                               // of a sound card
  std::optional<output::Steps> steps = std::nullopt;     // of what has steps
  bool is_ohm = false;
};

// A card as it is measured: no lobe is limited, nothing is put in for its capacitor.
profile::OutputDevice Plain(const profile::OutputDevice& device) {
  profile::OutputDevice plain = device;
  if (auto* sound = std::get_if<out::Sound>(&plain.kind)) {
    for (out::Sound::Channel& channel : sound->channels) {
      channel.most_v = channel.full_scale_v;
      channel.corner_hz = 0;
      channel.inverted = false;
    }
  }
  return plain;
}

bool HasVolts(const profile::DeviceKind& kind) {
  return std::holds_alternative<out::Sound>(kind) || std::holds_alternative<out::Dac>(kind) ||
         std::holds_alternative<out::Potentiometer>(kind) || std::holds_alternative<out::CanNode>(kind);
}

// REQUIRES: the output is open.
std::vector<Channel> ChannelsToMeasure(const profile::OutputDevice& device, const output::Output& output) {
  std::vector<Channel> channels;
  const std::vector<const profile::OutputChannel*> all = ChannelsOf(device);
  const auto* sound = std::get_if<out::Sound>(&device.kind);
  for (std::size_t i = 0; i < all.size(); ++i) {
    Channel channel{.index = static_cast<int>(i), .at = all[i]};
    channel.is_ohm = std::holds_alternative<out::Potentiometer>(device.kind);
    if (sound != nullptr)
      channel.full_scale_v = sound->channels[i].full_scale_v;
    else
      channel.steps = output.StepsOf(channel.index);
    if (sound != nullptr || channel.steps) channels.push_back(channel);
  }
  return channels;
}

std::string Plan(const Channel& channel) {
  const std::string who = InWords(*channel.at);
  if (!channel.steps) {
    return fmt::format("{}: {:g} Hz at half of full scale, {:.4g} V rms as stated", who, output::kToneHz,
                       output::ToneRms(channel.full_scale_v));
  }
  const char* unit = channel.is_ohm ? "ohm" : "V";
  return fmt::format("{}: {:.4g} {} and {:.4g} {} as stated", who,
                     channel.steps->ValueOf(channel.steps->least), unit,
                     channel.steps->ValueOf(channel.steps->most), unit);
}

struct Written {
  const profile::OutputChannel* at = nullptr;
  std::vector<output::Figure> figures;
};

class Conversation {
 public:
  Conversation(LevelPlayer& player, MeterDialogue& meter, int columns)
      : player_(player), meter_(meter), columns_(columns) {}

  // False: stopped, or the output failed.
  bool Measure(const Channel& channel) {
    Say("\n" + Plan(channel) + "\n");
    const output::Calibrated found = channel.steps ? OfSteps(channel) : OfTone(channel);
    player_.Silence();
    if (stopped_ || !player_.failure().empty()) return false;
    if (left_out_) {
      left_out_ = false;
      all_ = false;
      return true;
    }
    if (!found.problem.empty()) {
      SayWrapped("  REFUSED: " + found.problem);
      all_ = false;
      return true;
    }
    for (const output::Figure& figure : found.figures) {
      if (!figure.spread.empty()) Say(fmt::format("  {}: {}  ({})\n", figure.key, figure.value, figure.spread));
    }
    written_.push_back({channel.at, found.figures});
    return true;
  }

  bool all() const { return all_ && !stopped_; }
  const std::vector<Written>& written() const { return written_; }

 private:
  void SayWrapped(const std::string& text) const {
    for (const std::string& line : report::Wrap(text, columns_)) Say(line + "\n");
  }

  output::Calibrated OfTone(const Channel& channel) {
    player_.Tone(channel.index, output::kToneHz, channel.full_scale_v * output::kToneShare);
    const double rms_v = Ask("volts rms, as 1.87 V", MeterQuantity::kVoltsRms, "V");
    return output::CalibrateTone(channel.full_scale_v, rms_v);
  }

  // Back at the lowest when it has been measured: nobody waits at the highest.
  output::Calibrated OfSteps(const Channel& channel) {
    const output::Steps& steps = *channel.steps;
    const std::string unit = channel.is_ohm ? "ohm" : "V";
    const auto at = [&](int count, const char* which) {
      Put(channel, steps.ValueOf(count));
      return Ask(fmt::format("at the {} count, in {}", which, unit),
                 channel.is_ohm ? MeterQuantity::kOhms : MeterQuantity::kVolts, unit);
    };
    const double lowest = at(steps.least, "lowest");
    const double highest = stopped_ || left_out_ ? 0 : at(steps.most, "highest");
    Put(channel, steps.ValueOf(steps.least));
    return output::CalibrateSteps(steps, lowest, highest, unit);
  }

  void Put(const Channel& channel, double value) {
    player_.Level(channel.index,
                  {.kind = channel.is_ohm ? SourceKind::kResistance : SourceKind::kVoltage, .value = value});
  }

  // 0 when it was left out or stopped.
  double Ask(const std::string& wanted, MeterQuantity quantity, const std::string& unit) {
    for (;;) {
      Say(fmt::format("  {}{} [s = leave it out, q = stop]: ",
                      meter_.EnterReads(quantity), wanted));
      const std::optional<std::string> line = TypedLine();
      if (!line || *line == "q" || *line == "quit" || !player_.failure().empty()) {
        if (!line) Say("\n");
        stopped_ = true;
        return 0;
      }
      if (*line == "s" || *line == "skip") {
        left_out_ = true;
        return 0;
      }
      const std::optional<double> value = line->empty() ? Read(quantity, unit) : Typed(*line, unit);
      if (value) return *value;
    }
  }

  std::optional<double> Read(MeterQuantity quantity, const std::string& unit) {
    const std::optional<double> value = meter_.Read(quantity);
    if (!value) return std::nullopt;
    if (std::isinf(*value)) {
      SayWrapped("  not read: overload, more than its highest range shows. Enter tries again; or type what it shows");
      return std::nullopt;
    }
    Say(fmt::format("  read: {:.5g} {}\n", *value, unit));
    return value;
  }

  std::optional<double> Typed(const std::string& line, const std::string& unit) const {
    std::string problem;
    std::optional<double> value = ReadTyped(line, unit, /*bare=*/true, problem);
    if (value && std::isinf(*value)) {
      value.reset();
      problem = fmt::format("'{}' is no value in {}", OneLine(line), unit);
    }
    if (!value) SayWrapped("  " + problem);
    return value;
  }

  LevelPlayer& player_;
  MeterDialogue& meter_;
  int columns_;
  bool stopped_ = false, left_out_ = false, all_ = true;
  std::vector<Written> written_;
};

KeyValues ValuesOf(const Written& written) {
  KeyValues values;
  for (const output::Figure& figure : written.figures) values.emplace_back(figure.key, figure.value);
  return values;
}

void PrintLines(const std::vector<Written>& all) {
  if (!all.empty()) Say("\nFor the bench:\n");
  for (const Written& written : all) {
    std::string line;
    for (const auto& [key, value] : ValuesOf(written)) line += fmt::format("{}{}: {}", line.empty() ? "" : ", ", key, value);
    Say(fmt::format("  {}:{}: {}: {{{}}}\n", written.at->place.file, written.at->place.line, written.at->name, line));
  }
}

std::vector<std::string> LinesOf(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(file), {}};
  std::vector<std::string> lines;
  std::size_t begin = 0;
  for (std::size_t end = 0; (end = text.find('\n', begin)) != std::string::npos; begin = end + 1) {
    lines.push_back(text.substr(begin, end - begin + 1));
  }
  lines.push_back(text.substr(begin));
  return lines;
}

// Each into its own line; empty, or what a person has to write.
std::string WriteOne(const Written& written) {
  const Place& place = written.at->place;
  std::vector<std::string> lines = LinesOf(place.file);
  const auto index = AsSize(place.line - 1);
  const std::optional<std::string> changed =
      index < lines.size() ? WithValues(lines[index], place.column, ValuesOf(written)) : std::nullopt;
  if (!changed) {
    return fmt::format("{}:{}: '{}' is not in braces on one line: write it by hand", place.file, place.line,
                       written.at->name);
  }
  lines[index] = *changed;
  std::string text;
  for (const std::string& line : lines) text += line;
  if (std::string why = io::WriteWholeFile(place.file, text); !why.empty()) return why;
  Say(fmt::format("  written: {}:{}\n", place.file, place.line));
  return "";
}

// The last in the file first: what stands before it on its line stays where it is.
int WriteAll(std::vector<Written> all) {
  std::ranges::stable_sort(all, std::ranges::greater{}, [](const Written& written) {
    return std::pair(written.at->place.line, written.at->place.column);
  });
  int code = kAllMet;
  for (const Written& written : all) {
    if (const std::string why = WriteOne(written); !why.empty()) code = Fail(why, kNotShown);
  }
  return code;
}

const profile::OutputDevice* Find(const profile::Bench& bench, const std::string& name, std::string& why) {
  std::vector<std::string> known;
  for (const profile::OutputDevice& device : bench.drives) {
    if (device.name == name) return &device;
    known.push_back(device.name);
  }
  why = known.empty() ? "the bench has no outputs (section drives)"
                      : fmt::format("the bench has no output '{}'; {}", name, yaml::Suggest(name, known));
  return nullptr;
}

// As far as it is known before the device is opened, which is after somebody has armed it.
std::vector<bus::Driven> DrivenOf(const profile::OutputDevice& device, const output::Output& output) {
  std::string way = output.Description();
  if (const auto* sound = std::get_if<out::Sound>(&device.kind)) {
    for (std::size_t i = 0; i < sound->channels.size(); ++i) {
      way += "; " + Plan({.at = &sound->channels[i], .full_scale_v = sound->channels[i].full_scale_v});
    }
  } else {
    way += "; the lowest and the highest that each channel can give";
  }
  return {{.index = 0, .name = device.name, .kind = std::string(output::AbilityOf(device.kind).kind), .way = way}};
}

int Talk(const Options& options, LevelPlayer& player, const std::vector<Channel>& channels,
         MeterDialogue& meter) {
  Conversation conversation(player, meter, Columns());
  for (const Channel& channel : channels) {
    if (!conversation.Measure(channel)) break;
  }
  const std::string failure = player.Stop();
  PrintLines(conversation.written());
  const int written = options.write ? WriteAll(conversation.written()) : kAllMet;
  if (!failure.empty()) return Fail(failure, kBenchFailed);
  return conversation.all() ? written : kNotShown;
}

int Calibrate(const Options& options) {
  io::BenchMeter meter;
  if (!options.meter.empty()) {
    if (const std::string why = meter.SetAddress(options.meter); !why.empty()) return Fail("--meter " + why);
  }
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  std::string why;
  const profile::OutputDevice* device = Find(*loaded.bench, options.output, why);
  if (device == nullptr) return Fail(why);
  if (!HasVolts(device->kind)) {
    return Fail(fmt::format("'{}' switches, or says its volts itself: there is nothing to calibrate", device->name));
  }
  const profile::Scenario nothing;
  const MadeOutput made = MakeOutput(*loaded.bench, nothing, Plain(*device));
  if (!made.problem.empty()) return Fail(made.problem);
  CatchStopSignals();
  if (!Arm({}, options.arming, DrivenOf(*device, *made.output)).may_drive) return kBadInput;
  if (why = made.output->Open(); !why.empty()) return Fail(device->name + ": " + why + "; nothing was driven", kBenchFailed);
  const std::vector<Channel> channels = ChannelsToMeasure(*device, *made.output);
  if (channels.empty()) return Fail(fmt::format("'{}' has only switches: there is nothing to calibrate", device->name));
  MeterDialogue dialogue(options.meter.empty() ? nullptr : &meter, Columns());
  dialogue.Reach();
  // From here on it is looked after by its guard: nothing that takes its time lies between.
  if (why = made.output->Arm(); !why.empty()) return Fail(device->name + ": " + why, kBenchFailed);
  LevelPlayer player(*made.output);
  return Talk(options, player, channels, dialogue);
}

}  // namespace

void AddCalibrate(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand("calibrate", "Measure what an output of the bench really gives");
  command->add_option("bench", options->bench, "Bench file (YAML)")->required()->type_name("BENCH");
  command->add_option("--output", options->output, "The output, as section drives calls it")
      ->required()
      ->type_name("NAME");
  command->add_option("--meter", options->meter, "Read this meter (SCPI on TCP) instead of asking for what it shows")
      ->type_name("HOST:PORT");
  command->add_flag("--write", options->write,
                    "Put the values into the bench file too, where a channel is in braces on one line");
  AddArmingOptions(*command, options->arming);
  command->footer(
      "A sound card plays a sine of 1 kHz at half of full scale on each channel in turn; a DAC, a potentiometer and an "
      "analogue\noutput of an I/O node give their lowest and highest value. Measure where the controller's plug is, with "
      "what stands\nbetween. What the controller must not get is unplugged before.\n\n"
      "Exit codes: 0 all channels measured, 2 bad input or not armed: nothing was driven, 3 the output failed,\n"
      "4 a channel was left out or refused, or could not be written.\n\n"
      "Examples:\n  drycrank calibrate bench.yaml --output card --arm card --by NAME\n"
      "  drycrank calibrate bench.yaml --output volts --arm volts --by NAME --meter 192.168.1.30:5025 --write");
  command->callback([options, &exit_code] { exit_code = Calibrate(*options); });
}

}  // namespace drycrank::tools
