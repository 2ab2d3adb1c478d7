// SPDX-License-Identifier: Apache-2.0
//
// drycrank standin: the stand-in controller in a process of its own, which hears a sound card and talks
// on a bus. It is the other side of `drycrank run --outputs --real controller`: what it knows of crank
// and cam has gone through a card and a cable.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <memory>

#include "io/real_clock.h"
#include "profile/load.h"
#include "run/heard_controller.h"
#include "tools/arming.h"
#include "tools/commands.h"
#include "tools/sample_source.h"
#include "tools/standin_ears.h"

namespace drycrank::tools {

void AddStandin(CLI::App& app, int& exit_code);

namespace {

struct Options {
  std::string bench, hear;
  std::vector<std::string> at, levels, buses;
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
  HeardRun(const profile::Bench& bench, const run::Hearing& hearing, SampleSource& source,
           const std::vector<bus::CanBus*>& buses, io::RealClock& clock)
      : source_(source), clock_(clock), controller_(bench, hearing, buses) {
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
      if (came == SampleSource::Came::kNothing) continue;
      controller_.Hear(samples);
      TellState();
      if (!source_.is_live()) WaitForIt();
    }
  }

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
  run::HeardController controller_;
  std::vector<int> descriptors_;
  standin::SyncState state_ = standin::SyncState::kStopped;
  std::uint64_t lost_ = 0;
};

// Of the words alone, before anything is opened.
std::string WhyNot(const profile::Bench& bench, const Options& options, run::Hearing& hearing) {
  if (!bench.controller) return options.bench + " has no controller to stand in for";
  if (options.buses.empty()) return "nobody would hear it: give --bus NAME=INTERFACE";
  if (options.at.empty()) return "it hears nothing: say with --at which channel is which input";
  return ReadEars(bench, options.at, options.levels, hearing);
}

int Play(const profile::Bench& bench, const Options& options, run::Hearing& hearing,
         SampleSource& source) {
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
  for (const std::string& line : InWords(bench, options.levels, hearing)) fmt::print("{}\n", line);
  std::fflush(stdout);
  HeardRun run(bench, hearing, source, interfaces.by_bus, clock);
  run.Play(options.for_s > 0 ? FromSeconds(options.for_s) : kNever);
  run.TellEnd();
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
  const int needed = ChannelsNeeded(hearing);
  const int channels = options.channels > 0 ? options.channels : std::max(2, needed);
  OpenedSource opened = OpenSource(options.hear, options.rate_hz, channels);
  if (!opened.source) return Fail(opened.problem, opened.bad_input ? kBadInput : kBenchFailed);
  hearing.rate_hz = opened.source->rate_hz();
  hearing.channels = opened.source->channels();
  if (needed > hearing.channels) {
    return Fail(fmt::format("--at names channel {}; {} has {}", needed,
                            opened.source->Description(), hearing.channels),
                kBadInput);
  }
  return Play(*loaded.bench, options, hearing, *opened.source);
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
