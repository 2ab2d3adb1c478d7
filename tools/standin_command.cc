// SPDX-License-Identifier: Apache-2.0
//
// drycrank standin: the stand-in controller in a process of its own, which hears a sound card and talks
// on a bus. It is the other side of `drycrank run --outputs --real controller`: what it knows of crank
// and cam has gone through a card and a cable.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <memory>
#include <optional>

#include "io/real_clock.h"
#include "profile/load.h"
#include "run/heard_controller.h"
#include "run/heard_wires.h"
#include "tools/arming.h"
#include "tools/commands.h"
#include "tools/sample_source.h"
#include "tools/standin_ears.h"
#include "tools/standin_plugs.h"

namespace drycrank::tools {

void AddStandin(CLI::App& app, int& exit_code);

namespace {

struct Options {
  std::string bench, hear;
  std::vector<std::string> at, levels, buses;
  PlugWords plug;
  double supply_v = 0;
  int rate_hz = 48'000, channels = 0;
  double for_s = 0;
  ArmingWish arming;
};

int Fail(const std::string& problem, int code) {
  fmt::print(stderr, "drycrank standin: {}\n", problem);
  return code;
}

class HeardRun {
 public:
  // `levels`: null without wires.
  HeardRun(const profile::Bench& bench, const run::Hearing& hearing, SampleSource& source,
           const std::vector<bus::CanBus*>& buses, io::RealClock& clock, LevelLines* levels)
      : source_(source),
        clock_(clock),
        levels_(levels),
        wires_(hearing.wires),
        controller_(bench, hearing, buses) {
    for (const bus::CanBus* bus : buses) {
      if (bus != nullptr) descriptors_.push_back(bus->FileDescriptor());
    }
  }

  void Play(TimeNs end_ns) {
    std::vector<float> samples;
    clock_.Start();
    while (!StopAsked() && controller_.now_ns() < end_ns) {
      const SampleSource::Came came = source_.Read(samples);
      if (came == SampleSource::Came::kEnd) break;
      if (source_.TakeLost()) Lose();
      controller_.TakeFrames();
      if (levels_ != nullptr) problem_ = levels_->Take(*wires_);
      if (!problem_.empty()) break;
      if (came == SampleSource::Came::kNothing) continue;
      controller_.Hear(samples);
      TellState();
      if (!source_.is_live()) WaitForIt();
    }
  }

  // Of its levels; empty: none.
  const std::string& problem() const { return problem_; }

  void TellEnd() const {
    fmt::print(
        "heard {:.3f} s; {} messages sent, {} refused by the interface; samples lost {} times\n",
        ToSeconds(controller_.now_ns()), controller_.sent(), controller_.refused(), lost_);
    std::fflush(stdout);
  }

 private:
  // Those of a file are heard at their own time. A frame that comes ends a wait early.
  void WaitForIt() {
    while (!StopAsked() && clock_.Now() < controller_.now_ns()) {
      clock_.WaitUntil(controller_.now_ns(), descriptors_);
      controller_.TakeFrames();
    }
  }

  void Lose() {
    ++lost_;
    controller_.SkipTo(std::max(clock_.Now(), controller_.now_ns()));
    fmt::print("{:.3f} s: samples were lost; it was too busy to hear them\n",
               ToSeconds(controller_.now_ns()));
  }

  void TellState() {
    const standin::SyncState state = controller_.sync_state();
    if (state == state_) return;
    state_ = state;
    const std::string why = controller_.sync_reason() == standin::SyncReason::kNone
                                ? ""
                                : fmt::format(" ({})", standin::Name(controller_.sync_reason()));
    fmt::print("{:.3f} s: {}{}\n", ToSeconds(controller_.now_ns()), standin::Name(state), why);
    std::fflush(stdout);
  }

  SampleSource& source_;
  io::RealClock& clock_;
  LevelLines* levels_;
  run::HeardWires* wires_;
  std::string problem_;
  run::HeardController controller_;
  std::vector<int> descriptors_;
  standin::SyncState state_ = standin::SyncState::kStopped;
  std::uint64_t lost_ = 0;
};

// Of the words alone, before anything is opened.
std::string WhyNot(const profile::Bench& bench, const Options& options, run::Hearing& hearing) {
  if (!bench.controller) return options.bench + " has no controller to stand in for";
  if (options.buses.empty()) return "nobody would hear it: give --bus NAME=INTERFACE";
  if (options.plug.given() && (!options.at.empty() || !options.levels.empty())) {
    return "--at and --level go past the wires that --plug stands at: leave out one of the two";
  }
  if (options.plug.given()) return "";
  if (options.at.empty()) return "it hears nothing: say with --at which channel is which input";
  return ReadEars(bench, options.at, options.levels, hearing);
}

int Play(const profile::Bench& bench, const Options& options, run::Hearing& hearing,
         SampleSource& source, LevelLines* levels, const std::vector<std::string>& words) {
  io::RealClock clock;
  OpenInterfaces interfaces = Open(bench, options.buses, clock);
  if (!interfaces.problem.empty()) {
    return Fail(interfaces.problem, interfaces.bad_input ? kBadInput : kBenchFailed);
  }
  if (!Arm(interfaces.by_bus, options.arming).may_drive) return kBadInput;
  CatchStopSignals();
  fmt::print("{}, {} at {:g} Hz\n", source.Description(),
             hearing.channels == 1 ? "1 channel" : fmt::format("{} channels", hearing.channels),
             hearing.rate_hz);
  for (const std::string& line : words) fmt::print("{}\n", line);
  std::fflush(stdout);
  HeardRun run(bench, hearing, source, interfaces.by_bus, clock, levels);
  run.Play(options.for_s > 0 ? FromSeconds(options.for_s) : kNever);
  run.TellEnd();
  if (!run.problem().empty()) return Fail(run.problem(), kBadInput);
  const std::string problem = StopAsked() ? "" : source.problem();
  return problem.empty() ? kAllMet : Fail(problem, kBenchFailed);
}

int Standin(const Options& options) {
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  run::Hearing hearing;
  hearing.supply_v = options.supply_v;
  if (const std::string why = WhyNot(*loaded.bench, options, hearing); !why.empty()) {
    return Fail(why, kBadInput);
  }
  ReadPlugs plugs;
  if (options.plug.given()) plugs = PlugsOf(*loaded.bench, options.plug);
  LevelLines levels;
  if (plugs.problem.empty() && !options.plug.levels.empty()) {
    plugs.problem = levels.Open(options.plug.levels);
  }
  if (!plugs.problem.empty()) return Fail(plugs.problem, kBadInput);
  const int needed = std::max(ChannelsNeeded(hearing), ChannelsNeeded(plugs.plugs));
  const int channels = options.channels > 0 ? options.channels : std::max(2, needed);
  OpenedSource opened = OpenSource(options.hear, options.rate_hz, channels);
  if (!opened.source) return Fail(opened.problem, opened.bad_input ? kBadInput : kBenchFailed);
  hearing.rate_hz = opened.source->rate_hz();
  hearing.channels = opened.source->channels();
  if (needed > hearing.channels) {
    return Fail(fmt::format("{} names channel {}; {} has {}",
                            options.plug.given() ? "--plug" : "--at", needed,
                            opened.source->Description(), hearing.channels),
                kBadInput);
  }
  std::optional<run::HeardWires> wires;
  if (options.plug.given()) {
    wires.emplace(*loaded.bench, plugs.plugs, plugs.faults, options.supply_v);
    hearing.wires = &*wires;
  }
  return Play(*loaded.bench, options, hearing, *opened.source,
              options.plug.levels.empty() ? nullptr : &levels,
              wires ? InWords(*loaded.bench, plugs)
                    : InWords(*loaded.bench, options.levels, hearing));
}

}  // namespace

void AddStandin(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "standin", "Stand in for the controller in a process of its own, by what a sound card hears");
  command->add_option("bench", options->bench, "Bench file (YAML)")->required()->type_name("BENCH");
  command
      ->add_option("--hear", options->hear,
                   "A WAV file, - for one on standard input, or a sound card: hw:CARD=Device")
      ->required()
      ->type_name("SOURCE");
  command
      ->add_option("--at", options->at,
                   "Which input hears which channel, volts at full scale, volts at silence (0): "
                   "ECU.3=1:5, ECU.7=2:-3:2.5")
      ->type_name("TERMINAL=CHANNEL:VOLTS[:ZERO]")
      ->allow_extra_args(false);
  command
      ->add_option(
          "--level", options->levels,
          "Volts of an input that it cannot hear, all the time; without it the pin is open")
      ->type_name("TERMINAL=VOLTS")
      ->allow_extra_args(false);
  command
      ->add_option("--plug", options->plug.plugs,
                   "In the place of --at: a channel stands at the plug of this trigger, and the "
                   "bench's wires are between it and the controller; of a coil with its volts at "
                   "full scale: crank=1:12, cam=2")
      ->type_name("TRIGGER=CHANNEL[:VOLTS]")
      ->allow_extra_args(false);
  command
      ->add_option("--levels", options->plug.levels,
                   "With --plug: what stands at other plugs, a file or named pipe with a line for "
                   "each change: coolant 10000 (ohm, volts, a switch's 1 or 0, a supply's volts)")
      ->type_name("FILE");
  command
      ->add_option("--fault", options->plug.faults,
                   "With --plug: a fault in those wires, all the time: \"{kind: open, at: CLT.1}\"")
      ->type_name("YAML")
      ->allow_extra_args(false);
  command->add_option("--supply", options->supply_v, "Its own supply, V")
      ->required()
      ->check(InRange(0, 60))
      ->type_name("VOLTS");
  command->add_option("--bus", options->buses, "Where a bus of the bench goes, as for run")
      ->type_name("NAME=INTERFACE");
  command->add_option("--rate", options->rate_hz, "Of a sound card: samples a second")
      ->check(InRange(8'000, 768'000));
  command->add_option("--channels", options->channels, "Of a sound card: how many it has")
      ->check(InRange(1, 32));
  command->add_option("--for", options->for_s, "Ends after so many seconds")
      ->check(InRange(0.001, 86'400));
  AddArmingOptions(*command, options->arming, "Who says so; a stand-in leaves no record");
  command->footer(
      "It knows of the bench what the controller has been told, and its messages; sensors it "
      "cannot\n"
      "hear are open pins to it, and it says so on the bus. See hw-notes/sound-card.md.\n\n"
      "Example:\n"
      "  drycrank standin BENCH --hear hw:CARD=Device --at ECU.3=1:5 --at ECU.7=2:-3.3:2.5 \\\n"
      "      --supply 13.8 --bus vehicle=socketcan:vcan0");
  command->callback([options, &exit_code] { exit_code = Standin(*options); });
}

}  // namespace drycrank::tools
