// SPDX-License-Identifier: Apache-2.0
#include "tools/stage.h"

#include <fmt/format.h>
#include <unistd.h>

#include <chrono>
#include <memory>
#include <optional>

#include "io/real_clock.h"
#include "io/real_time.h"
#include "run/play.h"

namespace drycrank::tools {
namespace {

std::string Mode(const StageOptions& options) {
  std::string mode = options.real_time ? "real time" : "virtual time";
  std::string standins = "controller and display";
  bool controller = true, display = true;
  for (const std::string& real : options.real) {
    controller = controller && real != "controller";
    display = display && real != "display";
  }
  if (!controller) standins = display ? "display only" : "none";
  if (controller && !display) standins = "controller only";
  return mode + "; stand-ins: " + standins;
}

// A line on the terminal while a run takes longer than a second; ends with the run.
class Progress {
 public:
  explicit Progress(bool quiet) : on_(!quiet && isatty(STDERR_FILENO) == 1) {}
  ~Progress() {
    if (shown_) fmt::print(stderr, "\r\033[K");
  }
  void Show(TimeNs t_ns, const char* what) {
    const auto now = std::chrono::steady_clock::now();
    if (!on_ || now < next_) return;
    next_ = now + std::chrono::milliseconds(250);
    shown_ = true;
    fmt::print(stderr, "\r\033[K{} {:.1f} s", what, ToSeconds(t_ns));
  }

 private:
  bool on_;
  bool shown_ = false;
  std::chrono::steady_clock::time_point next_ =
      std::chrono::steady_clock::now() + std::chrono::seconds(1);
};

}  // namespace

void AddStageOptions(CLI::App& command, StageOptions& options) {
  command.add_option("--out", options.out, "Folder for the record and the reports")
      ->type_name("DIR");
  command.add_flag("--overwrite", options.overwrite,
                   "Replace a record or recording that is there already");
  command.add_flag("--real-time", options.real_time, "Release everything at its due instant");
  command
      .add_option("--bus", options.buses,
                  "Where a bus of the bench goes: NAME=inproc, NAME=multicast[:GROUP[:PORT]], "
                  "NAME=socketcan:can0")
      ->type_name("NAME=INTERFACE");
  command
      .add_option("--real", options.real, "This one is connected for real: play no stand-in for it")
      ->check(CLI::IsMember({"controller", "display"}));
  command.add_flag("--arm", options.arm,
                   "Allow sending on an interface that real hardware may listen to");
  command.add_flag("--quiet", options.quiet, "No progress line");
  AddReportOptions(command, options.files);
  AddRecordingOptions(command, options.recording);
}

std::string Words(const StageOptions& options) {
  std::string words;
  if (options.real_time) words += " --real-time";
  for (const std::string& bus : options.buses) words += " --bus " + bus;
  for (const std::string& real : options.real) words += " --real " + real;
  return words;
}

int PlayOnStage(const StageOptions& options, const Play& wanted) {
  const auto fail = [&](const std::string& problem, bool bad_input) {
    fmt::print(stderr, "{}: {}\n", wanted.program, problem);
    return bad_input ? kBadInput : kBenchFailed;
  };

  VirtualClock virtual_clock;
  std::unique_ptr<io::RealClock> real_clock;
  if (options.real_time) real_clock = std::make_unique<io::RealClock>();
  Clock& clock = real_clock ? static_cast<Clock&>(*real_clock) : virtual_clock;

  OpenInterfaces interfaces = Open(wanted.bench, options.buses, clock);
  if (!interfaces.problem.empty()) return fail(interfaces.problem, interfaces.bad_input);
  if (!interfaces.owned.empty() && !options.real_time) {
    return fail("an interface to the outside needs --real-time", true);
  }
  if (!Arm(interfaces, options.arm)) return kBadInput;

  run::PlayOptions play;
  play.run.seed = wanted.seed;
  play.run.interfaces = interfaces.by_bus;
  for (const std::string& real : options.real) {
    if (real == "controller") play.run.controller = false;
    if (real == "display") play.run.display = false;
  }
  play.mode = Mode(options);
  play.hint_command = wanted.hint_command;
  play.files = wanted.files;
  play.record_folder = options.out;
  play.overwrite = options.overwrite;
  play.clock = &clock;
  Progress progress(options.quiet);
  play.keep_on = [&](TimeNs t_ns) {
    progress.Show(t_ns, wanted.scenario.name.c_str());
    return !StopAsked();
  };
  CatchStopSignals();
  if (real_clock) play.origin_ns = WallClockNs();
  RecordingWish wish = options.recording;
  wish.overwrite = options.overwrite;
  std::unique_ptr<FrameRecorder> recorder;
  const std::string refused = FrameRecorder::Open(
      wish, wanted.bench, play.origin_ns,
      real_clock ? io::Recorder::WhenFull::kLeaveOut : io::Recorder::WhenFull::kWait, recorder);
  if (!refused.empty()) return fail(refused, true);
  if (recorder) play.observers.push_back(recorder.get());
  std::optional<io::RealTime> real_time;
  if (!interfaces.owned.empty()) real_time.emplace();
  if (real_clock) real_clock->Start();
  run::PlayResult result = run::Play(wanted.bench, wanted.scenario, play);
  const std::string unrecorded = recorder ? recorder->Stop() : "";
  if (!result.problem.empty() && result.report.bench == nullptr) return fail(result.problem, true);

  result.report.notes.insert(result.report.notes.end(), wanted.notes.begin(), wanted.notes.end());
  if (real_time) {
    const std::vector<std::string>& told = real_time->problems();
    result.report.notes.insert(result.report.notes.end(), told.begin(), told.end());
    real_time.reset();
  }

  ReportFiles files = options.files;
  if (!options.out.empty()) {
    if (files.html.empty()) files.html = options.out + "/report.html";
    if (files.json.empty()) files.json = options.out + "/report.json";
    if (files.junit.empty()) files.junit = options.out + "/junit.xml";
  }
  std::string problem = Publish(result.report, files);
  if (problem.empty()) problem = result.problem;
  if (problem.empty()) problem = unrecorded;
  if (!problem.empty()) return fail(problem, false);
  if (!options.out.empty()) fmt::print("Record and report: {}\n", files.html);
  if (result.stopped) return fail("stopped before the end", false);
  return ExitCodeOf(result.report);
}

}  // namespace drycrank::tools
