// SPDX-License-Identifier: Apache-2.0
#include "tools/stage.h"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <memory>
#include <optional>

#include "io/folder_lock.h"
#include "io/real_clock.h"
#include "io/real_time.h"
#include "io/sha256.h"
#include "record/record.h"
#include "report/headline.h"
#include "run/output_wishes.h"
#include "study/play.h"
#include "study/run_facts.h"
#include "tools/output_devices.h"
#include "tools/record_guard.h"
#include "tools/result_files.h"
#include "tools/run_watch.h"

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
  const char* const outputs = !options.outputs   ? ""
                              : options.disarmed ? "; outputs: fed, not armed"
                                                 : "; outputs: driven";
  return mode + outputs + "; stand-ins: " + standins;
}

bool IsReal(const StageOptions& options, std::string_view part) {
  return std::find(options.real.begin(), options.real.end(), part) != options.real.end();
}

// A line on the terminal while a run takes longer than a second; ends with the run.
class Progress {
 public:
  explicit Progress(bool quiet) : on_(!quiet && IsObeyingTerminal(STDERR_FILENO)) {}
  ~Progress() {
    if (shown_) fmt::print(stderr, "\r\033[K");
  }
  void Show(TimeNs t_ns, const char* what) {
    const auto now = std::chrono::steady_clock::now();
    if (!on_ || now < next_ || !TakesText(STDERR_FILENO)) return;
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
      ->check(HasName())
      ->type_name("DIR");
  AddOutMost(command, options.out_most_bytes);
  command.add_flag("--overwrite", options.overwrite,
                   "Replace a record or recording that is there already");
  command.add_flag("--real-time", options.real_time,
                   "Send everything at its own time, not as fast as possible");
  command
      .add_option("--bus", options.buses,
                  "Where a bus of the bench goes: NAME=inproc, NAME=multicast[:GROUP[:PORT]], "
                  "NAME=socketcan:can0")
      ->type_name("NAME=INTERFACE");
  command.add_option("--real", options.real, "This one is connected: no stand-in plays it")
      ->check(CLI::IsMember({"controller", "display"}));
  AddArmingOptions(command, options.arming);
  command
      .add_option("--serial", options.serial, "Serial number of the harness, for the sheet to sign")
      ->type_name("TEXT");
  command.add_option("--revision", options.revision, "Its revision, for the sheet to sign")
      ->type_name("TEXT");
  command
      .add_option("--controller-firmware", options.controller_firmware,
                  "Firmware of a real controller, as it says itself, for the sheet to sign")
      ->type_name("TEXT");
  command
      .add_option("--display-firmware", options.display_firmware,
                  "Firmware of a real display, for the sheet to sign")
      ->type_name("TEXT");
  command.add_flag("--quiet", options.quiet, "No progress line");
  AddReportOptions(command, options.files);
  AddRecordingOptions(command, options.recording);
}

void AddOutputOptions(CLI::App& command, StageOptions& options) {
  CLI::Option* outputs = command.add_flag(
      "--outputs", options.outputs,
      "Drive what the bench's 'drives' says: pickups, sensors and supplies by real devices");
  command
      .add_flag("--disarmed", options.disarmed,
                "Do all of it but drive: devices are reached and stay in their safe state")
      ->needs(outputs);
}

std::string WhyNotPlaced(const StageOptions& options, const std::vector<std::string>& inputs) {
  std::vector<io::ResultFile> results = ResultsOf(options.files);
  const std::vector<io::ResultFile> recordings = RecordingsOf(options.recording);
  results.insert(results.end(), recordings.begin(), recordings.end());
  const std::string why = io::WhyNotThere(results, inputs, options.out);
  // Whose the folder is comes later; foreign files in it are never mixed with a record.
  if (!why.empty() || options.out.empty()) return why;
  return io::WhyNoRecordThere(options.out, true);
}

std::string OptionsInWords(const StageOptions& options) {
  std::string words;
  if (options.real_time) words += " --real-time";
  if (options.outputs) words += options.disarmed ? " --outputs --disarmed" : " --outputs";
  for (const std::string& bus : options.buses) words += " --bus " + bus;
  for (const std::string& real : options.real) words += " --real " + real;
  for (const auto& [option, text] : {std::pair{"serial", &options.serial},
                                     {"revision", &options.revision},
                                     {"controller-firmware", &options.controller_firmware},
                                     {"display-firmware", &options.display_firmware}}) {
    if (!text->empty()) words += fmt::format(" --{} \"{}\"", option, *text);
  }
  return words;
}

namespace {

// The report of the record in `folder`, judged anew; nothing when it is not of a whole run.
std::optional<report::Report> FromRecord(const std::string& folder, const Play& wanted,
                                         bool controller_real, bool display_real) {
  scenario::Timeline timeline(wanted.bench, wanted.scenario);
  check::Checker checker(wanted.bench, wanted.scenario, timeline);
  const record::PlayedRecord played =
      record::PlayRecord(folder, wanted.bench, wanted.scenario, timeline, checker);
  if (!played.problems.empty()) return std::nullopt;
  // What was stopped has not shown the rest: it is played once more.
  if (study::EndedEarly(wanted.scenario, played.steps)) return std::nullopt;
  report::Report report;
  report.version = study::Version();
  report.hint_command = wanted.hint_command;
  report.bench = &wanted.bench;
  report.scenario = &wanted.scenario;
  report.seed = played.seed;
  report.duration_ns = played.duration_ns;
  report.mode = played.mode;
  report.verdicts = checker.verdicts();
  report.quiet = checker.quiet();
  report.steps = played.steps;
  report.controller_real = controller_real;
  report.display_real = display_real;
  report.notes = played.notes;
  report.notes.push_back("taken up again: what the record shows was not driven a second time");
  return report;
}

// Interfaces, clock and recorder of one run, and the scenarios played on them.
class Stage {
 public:
  Stage(const StageOptions& options, const Play& wanted) : options_(options), wanted_(wanted) {
    if (!options.real_time) return;
    real_clock_ = std::make_unique<io::RealClock>();
    const auto now = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
    date_time_ = fmt::format("{:%Y-%m-%d %H:%M:%S} UTC", now);
  }

  int Run() {
    if (!options_.out.empty() && wanted_.folder == nullptr) {
      const std::string taken = folder_.Take(options_.out);
      if (!taken.empty()) return Fail(taken, true);
    }
    if (const std::string why = WhyNoRecord(); !why.empty()) return Fail(why, true);
    interfaces_ = Open(wanted_.bench, options_.buses, clock());
    if (!interfaces_.problem.empty()) return Fail(interfaces_.problem, interfaces_.bad_input);
    if (!interfaces_.owned.empty() && !options_.real_time) {
      return Fail("an interface to the outside needs --real-time", true);
    }
    if (const int refused = MakeOutputs(); refused != kAllMet) return refused;
    const Arming arming =
        Arm(interfaces_.by_bus, options_.arming,
            outputs_ && !options_.disarmed ? outputs_->Drives() : std::vector<bus::Driven>());
    if (!arming.may_drive) return kBadInput;
    armed_ = arming.armed;
    WarnOfStandins();
    CatchStopSignals();
    if (const int refused = OpenOutputs(); refused != kAllMet) return refused;
    study::PlayResult result;
    std::string unrecorded;
    TakeAway(options_.files);
    if (auto known = TakenUp()) {
      result.report = std::move(*known);
    } else if (const int refused = PlayMain(result, unrecorded); refused != kAllMet) {
      return refused;
    }
    std::string cut_short;
    if (wanted_.afterwards) {
      cut_short = wanted_.afterwards(result.report,
                                     [this](const profile::Scenario& more) { return Again(more); });
    }
    AddNotes(result.report);
    FillSheet(result.report);
    ReportFiles files = options_.files;
    if (const io::FolderLock* folder = FolderOf(); folder != nullptr && !folder->IsThere()) {
      return Fail(options_.out +
                      " was moved or taken away meanwhile; the record is where it was moved to, "
                      "and no report is written",
                  false);
    }
    if (!options_.out.empty()) {
      if (files.html.empty()) files.html = options_.out + "/report.html";
      if (files.json.empty()) files.json = options_.out + "/report.json";
      if (files.junit.empty()) files.junit = options_.out + "/junit.xml";
    }
    std::string problem = Publish(result.report, files);
    if (problem.empty()) problem = result.problem;
    if (problem.empty()) problem = unrecorded;
    if (!problem.empty()) return Fail(problem, false);
    if (!options_.out.empty()) fmt::print("Record and report: {}\n", files.html);
    if (!cut_short.empty()) fmt::print(stderr, "{}: {}\n", wanted_.program, cut_short);
    if (const std::string nothing = report::NothingCame(result.report); !nothing.empty()) {
      return Fail(nothing, false);
    }
    const int exit_code = ExitCodeOf(result.report);
    return exit_code == kAllMet && !cut_short.empty() ? kNotShown : exit_code;
  }

 private:
  Clock& clock() {
    return real_clock_ ? static_cast<Clock&>(*real_clock_) : static_cast<Clock&>(virtual_clock_);
  }

  // Whoever arms an output believes that it will be driven.
  int ArmsNothing(const char* remedy) const {
    for (const std::string& what : options_.arming.what) {
      if (profile::IndexOf(wanted_.bench.drives, what) < 0) continue;
      return Fail(fmt::format("--arm {0}: {0} is an output of this bench; {1}", what, remedy), true);
    }
    return kAllMet;
  }

  // Anything but kAllMet: it has been said why not. No device is opened: it is asked first.
  int MakeOutputs() {
    if (!options_.outputs) return ArmsNothing("add --outputs to drive it");
    if (options_.disarmed) {
      const int refused = ArmsNothing("--disarmed drives none: leave one of the two out");
      if (refused != kAllMet) return refused;
    }
    if (!options_.real_time) return Fail("--outputs needs --real-time", true);
    if (wanted_.bench.drives.empty()) {
      return Fail(wanted_.bench.file + " has no 'drives': there is nothing to drive", true);
    }
    if (PrintProblems(run::OutputProblems(wanted_.bench, wanted_.scenario))) return kBadInput;
    outputs_.emplace(wanted_.bench, wanted_.scenario);
    if (const std::string problem = outputs_->Make(); !problem.empty()) return Fail(problem, false);
    return PrintProblems(outputs_->Unreached()) ? kBadInput : kAllMet;
  }

  // What they know of themselves only now is told, and recorded.
  int OpenOutputs() {
    if (!outputs_) return kAllMet;
    const std::vector<bus::Driven> asked = outputs_->Drives();
    if (const std::string problem = outputs_->Open(); !problem.empty()) {
      fmt::print(stderr, "{}: {}\n", wanted_.program, problem);
      fmt::print(stderr, "{}: nothing was driven\n", wanted_.program);
      return StopAsked() ? kNotShown : kBenchFailed;
    }
    if (PrintProblems(outputs_->Unreached())) return kBadInput;
    if (armed_ && !options_.disarmed) TakeFound(asked);
    return kAllMet;
  }

  void TakeFound(const std::vector<bus::Driven>& asked) {
    for (const bus::Driven& now : outputs_->Drives()) {
      const auto was = std::ranges::find(asked, now);
      if (was != asked.end() && was->way != now.way) {
        fmt::print(stderr, "  {} ({}): {}\n", now.name, now.kind, now.way);
      }
      const auto armed = std::ranges::find(armed_->what, now);
      if (armed != armed_->what.end()) armed->way = now.way;
    }
  }

  int Fail(const std::string& problem, bool bad_input) const {
    fmt::print(stderr, "{}: {}\n", wanted_.program, problem);
    return bad_input ? kBadInput : kBenchFailed;
  }

  // That of the caller, or ours.
  const io::FolderLock* FolderOf() const {
    if (options_.out.empty()) return nullptr;
    return wanted_.folder != nullptr ? wanted_.folder : &folder_;
  }

  // Two controllers on one bus contradict each other.
  void WarnOfStandins() const {
    if (interfaces_.owned.empty()) return;
    for (const char* part : {"controller", "display"}) {
      const bool there =
          part[0] == 'c' ? wanted_.bench.controller.has_value() : wanted_.bench.display.has_value();
      if (!there || IsReal(options_, part)) continue;
      fmt::print(stderr,
                 "{0}: a stand-in for the {1} sends its messages there; with the real one on the "
                 "bus give --real {1}\n",
                 wanted_.program, part);
    }
  }

  std::string WhyNoRecord() const {
    if (options_.out.empty()) return "";
    return io::WhyNoRecordThere(options_.out, options_.overwrite || wanted_.take_up);
  }

  std::optional<report::Report> TakenUp() const {
    if (!wanted_.take_up) return std::nullopt;
    auto known = FromRecord(options_.out, wanted_, IsReal(options_, "controller"),
                            IsReal(options_, "display"));
    // In virtual time nothing is driven twice, and a run shows more than its record: bus load, pictures.
    if (known && !options_.real_time && known->seed == wanted_.seed) return std::nullopt;
    return known;
  }

  study::PlayOptions Options() {
    study::PlayOptions play;
    play.run.seed = wanted_.seed;
    play.run.interfaces = interfaces_.by_bus;
    for (const std::string& real : options_.real) {
      if (real == "controller") play.run.controller = false;
      if (real == "display") play.run.display = false;
    }
    play.mode = Mode(options_);
    play.armed = armed_;
    play.clock = &clock();
    play.weigh = !wanted_.is_walk;
    play.outputs_driven = options_.outputs && !options_.disarmed;
    return play;
  }

  // Anything but kAllMet: nothing was played.
  int PlayMain(study::PlayResult& result, std::string& unrecorded) {
    study::PlayOptions play = Options();
    play.hint_command = wanted_.hint_command;
    play.files = wanted_.files;
    play.record_folder = options_.out;
    play.folder_is_there = [folder = FolderOf()] { return folder == nullptr || folder->IsThere(); };
    play.overwrite = options_.overwrite || wanted_.take_up;
    Progress progress(options_.quiet);
    play.why_stop = [&](TimeNs t_ns) {
      progress.Show(t_ns, wanted_.scenario.name.c_str());
      const std::string failure = outputs_ ? outputs_->failure() : "";
      return failure.empty() ? WhyStopped() : "error: " + failure;
    };
    record::RecordWriter* record = nullptr;
    std::optional<RunWatch> watch;
    if (real_clock_) {
      watch.emplace(wanted_.program, wanted_.bench, [&](TimeNs t_ns, const std::string& why) {
        if (record != nullptr) record->EndFromOutside(t_ns, why);
      });
      play.observers.push_back(&*watch);
    }
    RecordingWish wish = options_.recording;
    wish.overwrite = play.overwrite;
    std::unique_ptr<FrameRecorder> recorder;
    const std::string refused = FrameRecorder::Open(
        wish, wanted_.bench,
        real_clock_ ? io::Recorder::WhenFull::kLeaveOut : io::Recorder::WhenFull::kWait, recorder);
    if (!refused.empty()) return Fail(refused, true);
    if (recorder) play.observers.push_back(recorder.get());
    RecordGuard guard(options_.out, options_.recording.path, options_.out_most_bytes,
                      [&](const std::string& text, TimeNs t_ns) { Say(text, t_ns); });
    play.observers.push_back(&guard);
    guard.Watch(nullptr, recorder.get());
    play.on_record = [&](record::RecordWriter& begun) {
      record = &begun;
      guard.Watch(record, recorder.get());
    };
    BeginRealTime();
    if (outputs_) {
      play.observers.push_back(&*outputs_);
      outputs_->TellTo([&](const std::string& said, TimeNs t_ns) {
        if (record != nullptr) record->OnNote(said, t_ns);
        said_.push_back(said);
      });
      const std::string problem = outputs_->Begin(!options_.disarmed);
      if (!problem.empty()) return Fail(problem, false);
    }
    result = study::Play(wanted_.bench, wanted_.scenario, play);
    unrecorded = recorder ? recorder->Stop() : "";
    if (const std::string failure = outputs_ ? outputs_->Stop() : ""; !failure.empty()) {
      unrecorded = failure;
    }
    if (!result.problem.empty() && result.report.bench == nullptr) {
      return Fail(result.problem, true);
    }
    return kAllMet;
  }

  void Say(const std::string& text, TimeNs t_ns) {
    if (TakesText(STDERR_FILENO)) fmt::print(stderr, "{}: {}\n", wanted_.program, text);
    said_.push_back(fmt::format("{:.3f} s: {}", ToSeconds(t_ns), text));
  }

  void BeginRealTime() {
    const bool drives = !interfaces_.owned.empty() || outputs_;
    if (drives && !real_time_) real_time_.emplace();
  }

  bool Again(const profile::Scenario& more) {
    study::PlayOptions play = Options();
    play.pictures = false;
    play.weigh = false;
    play.why_stop = [](TimeNs) { return WhyStopped(); };
    std::optional<RunWatch> watch;
    if (real_clock_) {
      watch.emplace(wanted_.program, wanted_.bench, nullptr);
      play.observers.push_back(&*watch);
    }
    BeginRealTime();
    return !study::Play(wanted_.bench, more, play).stopped;
  }

  void FillSheet(report::Report& report) const {
    report.is_walk = wanted_.is_walk;
    report.sheet.serial = options_.serial;
    report.sheet.revision = options_.revision;
    report.sheet.controller_firmware = options_.controller_firmware;
    report.sheet.display_firmware = options_.display_firmware;
    report.sheet.date_time = date_time_;
    if (options_.out.empty()) return;
    report.sheet.record_checksum = io::Sha256OfFile(options_.out + "/events.csv").value_or("");
  }

  void AddNotes(report::Report& report) {
    report.notes.insert(report.notes.end(), wanted_.notes.begin(), wanted_.notes.end());
    report.notes.insert(report.notes.end(), said_.begin(), said_.end());
    if (!real_time_) return;
    const std::vector<std::string>& told = real_time_->problems();
    report.notes.insert(report.notes.end(), told.begin(), told.end());
    real_time_.reset();
  }

  const StageOptions& options_;
  const Play& wanted_;
  std::string date_time_;  // when a run in real time began; a virtual one has none
  io::FolderLock folder_;
  VirtualClock virtual_clock_;
  std::unique_ptr<io::RealClock> real_clock_;
  OpenInterfaces interfaces_;
  std::optional<OutputDevices> outputs_;
  std::optional<record::Armed> armed_;
  std::optional<io::RealTime> real_time_;
  std::vector<std::string> said_;  // of record and recording, while it ran
};

}  // namespace

int PlayOnStage(const StageOptions& options, const Play& play) {
  return Stage(options, play).Run();
}

}  // namespace drycrank::tools
