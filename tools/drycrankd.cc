// SPDX-License-Identifier: Apache-2.0
#include "tools/drycrankd.h"

#include <fmt/format.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <optional>

#include "daemon/daemon.h"
#include "io/folder_lock.h"
#include "io/real_clock.h"
#include "io/real_time.h"
#include "profile/load.h"
#include "proofread/recording_problems.h"
#include "record/played_files.h"
#include "record/record.h"
#include "study/bus_lines.h"
#include "study/play.h"
#include "tools/armed_book.h"
#include "tools/arming.h"
#include "tools/commands.h"
#include "tools/drycrankd_outputs.h"
#include "tools/live_notes.h"
#include "tools/record_guard.h"
#include "tools/recording_options.h"
#include "tools/result_files.h"
#include "tools/run_watch.h"
#include "tools/service_notes.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string bench;
  std::string socket = "drycrank.sock";
  std::vector<std::string> buses;
  std::vector<std::string> real;
  std::uint64_t seed = 1;
  ArmingWish arming;
  bool outputs = false, disarmed = false;
  double longest_drive_s = -1;  // negative: as the interfaces want it
  std::string out;
  std::uint64_t out_most_bytes = 0;
  RecordingWish recording;
  profile::PlayedCapture capture;
  bool capture_at_sensor = false;
};

constexpr TimeNs kLongestRealDriveNs = 60 * kNsPerS;

// Of a drive that nobody holds. Where hardware may listen there is always an end to it.
TimeNs LongestDriveNs(const Options& options, bool any_real) {
  if (options.longest_drive_s > 0) return FromSeconds(options.longest_drive_s);
  return any_real ? kLongestRealDriveNs : kNever;
}

// Another signal while it ends changes nothing: as long as somebody listens to it, it kills nobody. Never let go, since
// threads end and files are written until the very end.
void EndUndisturbed() {
  static auto& context = *new boost::asio::io_context;
  static auto& heard = *new boost::asio::signal_set(context, SIGINT, SIGTERM);
  struct sigaction hang_up {};
  const bool ignored = ::sigaction(SIGHUP, nullptr, &hang_up) == 0 && hang_up.sa_handler == SIG_IGN;
  if (!ignored) heard.add(SIGHUP);
}

bool Plays(const Options& options, const char* who) {
  return std::find(options.real.begin(), options.real.end(), who) == options.real.end();
}

daemon::Kept KeptFacts(const Options& options, const RecordGuard& guard) {
  daemon::Kept kept;
  kept.record = options.out;
  kept.recording = options.recording.path;
  kept.trouble = guard.trouble();
  kept.ended = guard.why_ended();
  if (const auto room = guard.room()) {
    kept.low = room->IsLow() ? room->Words() : "";
    kept.bytes = room->bytes;
    kept.bytes_per_hour = room->bytes_per_hour;
    kept.disk_left_bytes = room->left_bytes;
  }
  return kept;
}

std::string OpenRecord(const Options& options, const profile::LoadedBench& loaded,
                       const OpenInterfaces& interfaces, const Arming& arming,
                       const profile::Scenario& scenario, const run::Runner& runner,
                       std::unique_ptr<record::RecordWriter>& out) {
  record::RecordHead head;
  head.version = study::Version();
  head.scenario = scenario.name;
  head.bench = loaded.bench->name;
  head.seed = options.seed;
  head.mode = "live";
  if (options.outputs) head.mode += "; outputs: driven when armed";
  for (const std::string& real : options.real) head.mode += "; real: " + real;
  head.interfaces = study::InterfaceWords(*loaded.bench, interfaces.by_bus);
  head.files = loaded.files;
  head.real_time = true;
  head.armed = arming.armed;
  return record::RecordWriter::Open(options.out, options.recording.overwrite, head, *loaded.bench,
                                    scenario, runner.timeline(), out);
}

profile::Scenario ScenarioOf(const Options& options) {
  profile::Scenario scenario = daemon::LiveScenario();
  if (options.capture.file.empty()) return scenario;
  scenario.capture = options.capture;
  if (options.capture_at_sensor) scenario.capture->at = profile::PlayedAt::kSensor;
  return scenario;
}

// The system would say no more than that there is no such file.
std::string WhyNoSocket(const std::string& socket, const std::string& out) {
  namespace fs = std::filesystem;
  const fs::path folder = fs::path(socket).parent_path();
  std::error_code error;
  if (folder.empty() || fs::is_directory(folder, error)) return "";
  if (!out.empty() && fs::weakly_canonical(folder, error) == fs::weakly_canonical(out, error)) {
    return "";
  }
  return fmt::format("--socket {}: there is no folder {}; make it before: mkdir -p {}", socket,
                     folder.string(), folder.string());
}

int RunDaemon(const Options& options) {
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  const profile::Scenario scenario = ScenarioOf(options);
  std::string misplaced = io::WhyNotThere(RecordingsOf(options.recording),
                                          InputsOf(loaded.files, scenario), options.out);
  if (misplaced.empty()) misplaced = WhyNoSocket(options.socket, options.out);
  if (!misplaced.empty()) {
    fmt::print(stderr, "drycrankd: {}\n", misplaced);
    return kBadInput;
  }
  if (!options.capture.file.empty() && !loaded.bench->controller) {
    fmt::print(stderr, "drycrankd: --capture: the bench has no controller to play it to\n");
    return kBadInput;
  }
  if (PrintProblems(proofread::RecordingProblems(*loaded.bench, scenario))) return kBadInput;
  for (const std::string& words : record::InWords(record::PlayedFilesOf(scenario))) {
    fmt::print("drycrankd: {}\n", words);
  }
  io::FolderLock folder;
  const std::string taken = options.out.empty() ? "" : folder.Take(options.out);
  if (!taken.empty()) {
    fmt::print(stderr, "drycrankd: {}\n", taken);
    return kBadInput;
  }
  if (!options.out.empty()) {
    const std::string why = io::WhyNoRecordThere(options.out, options.recording.overwrite);
    if (!why.empty()) {
      fmt::print(stderr, "drycrankd: {}\n", why);
      return kBadInput;
    }
  }
  io::RealClock clock;
  const OpenInterfaces interfaces = Open(*loaded.bench, options.buses, clock);
  if (!interfaces.problem.empty()) {
    fmt::print(stderr, "drycrankd: {}\n", interfaces.problem);
    return interfaces.bad_input ? kBadInput : kBenchFailed;
  }
  std::optional<DaemonOutputs> outputs;
  if (options.outputs) {
    outputs.emplace(*loaded.bench, scenario);
    bool bad_input = false;
    if (const std::string problem = outputs->Open(bad_input); !problem.empty()) {
      fmt::print(stderr, "drycrankd: {}\n", problem);
      return bad_input ? kBadInput : kBenchFailed;
    }
  }
  const bool driven = outputs && !options.disarmed;
  const Arming arming = Arm(interfaces.by_bus, options.arming,
                            driven ? outputs->Drives() : std::vector<bus::Driven>());
  if (!arming.may_drive) return kBadInput;

  run::RunOptions run;
  run.seed = options.seed;
  run.controller = Plays(options, "controller");
  run.display = Plays(options, "display");
  run.endless = true;
  run.interfaces = interfaces.by_bus;
  run.clock = &clock;
  run::Runner runner(*loaded.bench, scenario, run);
  std::unique_ptr<FrameRecorder> recorder;
  std::unique_ptr<record::RecordWriter> record;
  std::unique_ptr<LiveNotes> live_notes;
  std::optional<RecordGuard> guard;
  // The socket before anything is written: it refuses a second daemon.
  std::optional<daemon::Daemon> daemon;
  try {
    daemon.emplace(
        *loaded.bench, runner, interfaces.by_bus, clock, options.socket,
        [&] { return KeptFacts(options, *guard); }, LongestDriveNs(options, interfaces.AnyReal()));
  } catch (const daemon::SocketRefused& refused) {
    fmt::print(stderr, "drycrankd: {}\n", refused.what());
    return kBadInput;
  }
  const std::string refused = FrameRecorder::Open(options.recording, *loaded.bench,
                                                  io::Recorder::WhenFull::kLeaveOut, recorder);
  if (!refused.empty()) {
    fmt::print(stderr, "drycrankd: {}\n", refused);
    return kBadInput;
  }
  if (recorder) runner.AddObserver(recorder.get());
  const std::string unwritable = options.out.empty() ? ""
                                                     : OpenRecord(options, loaded, interfaces,
                                                                  arming, scenario, runner, record);
  if (!unwritable.empty()) {
    fmt::print(stderr, "drycrankd: {}\n", unwritable);
    return kBadInput;
  }
  if (record) runner.AddObserver(record.get());
  ArmedBook armed_book(options.out);
  if (record) {
    daemon->KeepArmed([&](const std::vector<bus::Driven>& what, const std::string& by) {
      armed_book.Add(ArmedNow(what, by));
    });
  }
  live_notes = std::make_unique<LiveNotes>(*loaded.bench);
  runner.AddObserver(live_notes.get());
  guard.emplace(options.out, options.recording.path, options.out_most_bytes,
                [&](const std::string& text, TimeNs t_ns) { live_notes->OnNote(text, t_ns); });
  guard->Watch(record.get(), recorder.get());
  runner.AddObserver(&*guard);
  RunWatch watch("drycrankd", *loaded.bench, [&](TimeNs t_ns, const std::string& why) {
    if (record) record->EndFromOutside(t_ns, why);
  });
  runner.AddObserver(&watch);
  ServiceNotes service(loaded.bench->name);
  runner.AddObserver(&service);
  if (outputs) {
    runner.AddObserver(&outputs->devices());
    outputs->devices().TellTo(
        [&](const std::string& said, TimeNs t_ns) { live_notes->OnNote(said, t_ns); });
    daemon->Drive(*outputs);
  }
  std::optional<io::RealTime> real_time;
  if (!interfaces.owned.empty() || outputs) {
    real_time.emplace();
    for (const std::string& problem : real_time->problems()) {
      fmt::print(stderr, "drycrankd: {}\n", problem);
    }
  }
  const std::string unarmed = outputs ? outputs->Begin(driven) : "";
  if (!unarmed.empty()) {
    fmt::print(stderr, "drycrankd: {}\n", unarmed);
    return kBenchFailed;
  }
  runner.Start();
  fmt::print("drycrankd: {} is live; control socket {}; SIGTERM or \"stop\" ends it\n",
             loaded.bench->name, options.socket);
  std::fflush(stdout);
  daemon->Run();
  const std::string output_failure = outputs ? outputs->failure() : "";
  EndUndisturbed();
  live_notes.reset();  // all of it is written before what follows
  const std::vector<report::MessageLine> lines = study::MessageLines(*loaded.bench, runner);
  for (const std::string& note : study::MessageNotes(lines)) fmt::print("{}\n", note);
  fmt::print("drycrankd: ended after {:.1f} s, {} frames\n", ToSeconds(runner.now_ns()),
             runner.frames());
  std::string unrecorded = runner.failure();
  if (unrecorded.empty()) unrecorded = output_failure;
  if (recorder && unrecorded.empty()) unrecorded = recorder->Stop();
  if (record && unrecorded.empty() && !folder.IsThere())
    unrecorded = options.out + " was moved or taken away meanwhile";
  if (record && unrecorded.empty()) unrecorded = record->problem();
  if (record && unrecorded.empty()) unrecorded = armed_book.Close();
  if (record && unrecorded.empty() && folder.IsThere())
    unrecorded = study::WriteMessageLines(options.out, lines);
  if (unrecorded.empty()) return kAllMet;
  fmt::print(stderr, "drycrankd: {}\n", unrecorded);
  return kBenchFailed;
}

}  // namespace

int DaemonMain(int argc, char** argv) {
  CLI::App app{"Runs a bench live: takes values and faults while it runs."};
  app.set_version_flag("--version", std::string("drycrankd ") + study::Version());
  Options options;
  app.add_option("bench", options.bench, "Bench file (YAML)")->required()->type_name("BENCH");
  app.add_option("--socket", options.socket, "Control socket to make")
      ->check(HasName())
      ->type_name("PATH")
      ->capture_default_str();
  app.add_option("--bus", options.buses, "Where a bus goes: NAME=inproc, multicast, socketcan:can0")
      ->type_name("NAME=INTERFACE");
  app.add_option("--real", options.real, "This one is connected: no stand-in plays it")
      ->check(CLI::IsMember({"controller", "display"}));
  CLI::Option* with_outputs = app.add_flag(
      "--outputs", options.outputs,
      "Drive what the bench's 'drives' says: pickups, sensors and supplies by real devices");
  app.add_flag("--disarmed", options.disarmed,
               "Devices are reached and stay in their safe state until drycrank tell arm ... by NAME; "
               "they are safe again when that ends")
      ->needs(with_outputs);
  app.add_option("--seed", options.seed, "Seed of the noise")->check(IsSeed());
  app.add_option(
         "--longest-drive", options.longest_drive_s,
         "Seconds after which a drive that was left (tell --leave) ends; without it 60 where "
         "real hardware may listen, else never")
      ->check(InRange(0.1, 1e6))
      ->type_name("SECONDS");
  AddArmingOptions(app, options.arming);
  AddRecordingOptions(app, options.recording);
  app.add_option("--out", options.out, "Folder for the record")->check(HasName())->type_name("DIR");
  AddOutMost(app, options.out_most_bytes);
  app.add_flag("--overwrite", options.recording.overwrite,
               "Replace a record or recording that is there already");
  CLI::Option* capture =
      app.add_option("--capture", options.capture.file,
                     "Crank and cams of this trace of a real engine: CSV, WAV, VCD, .sr");
  capture->type_name("FILE")->check(CLI::ExistingFile);
  app.add_option("--map", options.capture.map, "What stands in its columns (kind: capture)")
      ->type_name("FILE")
      ->check(CLI::ExistingFile)
      ->needs(capture);
  app.add_flag("--capture-at-sensor", options.capture_at_sensor,
               "It was taken at the sensors: through the bench's harness, not at the pins")
      ->needs(capture);
  app.footer(
      "Examples:\n"
      "  drycrankd profiles/benches/hill_climb.yaml --bus vehicle=multicast\n"
      "  drycrank tell ramp engine_speed 3000 rpm in 2 s\n"
      "  drycrankd profiles/benches/hill_climb.yaml --capture idle.csv --map channels.yaml\n\n"
      "A controller on a bench fires coils, opens injectors, runs pumps, fans and starters and "
      "moves\n"
      "the throttle plate. Read hw-notes/cautions.md before you connect one.");
  if (const std::string why = WhyNotSaid(argc, argv); !why.empty()) {
    fmt::print(stderr, "drycrankd: {}\n", why);
    return kBadInput;
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    return app.exit(e) == 0 ? kAllMet : kBadInput;
  }
  return RunDaemon(options);
}

}  // namespace drycrank::tools
