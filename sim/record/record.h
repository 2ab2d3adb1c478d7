// SPDX-License-Identifier: Apache-2.0
//
// The record that a run leaves behind, as a folder:
//
//   record.json    format number, program version, what it was compiled with and has loaded, scenario,
//                  seed, mode, interfaces, the profile files and how long they are, the SHA-256 of a
//                  capture that was played
//   events.csv     in the order in which they happened, one per line:
//                    T,step,INDEX,NAME | T,frame,BUS,tx|rx,ID#DATA | T,fault,on|off,NAME
//                    T,drive,STIMULUS,VALUE,SECONDS           (by hand; 0 s: at once)
//                    T,drive,engine_speed,RPM,crank           (by hand: a starter turns it)
//                    T,unobservable,BUS,WHY | T,observable,BUS
//                    T,note,TEXT | T,end,WHY                  (T: ns since the start of the run)
//                  NAME, WHY and TEXT are one line each, quoted as RFC 4180 has it where they need to be
//   edges.bin      logic edges at the controller stand-in's trigger inputs, its coils and injectors
//                  (edge_file.h); edge_export.h makes text and a value change dump of them
//   frames.pcapng  the frames again, one interface per bus, for network tools
//   stimuli.csv    seconds and every stimulus, each 50 ms
//   messages.csv   per message: sent, replaced, skipped, response time calculated and measured,
//                  lateness
//   profiles/      the profile files as they were read
//
// The page with an example: hw-notes/record-format.md. The format is 2 (types/format_number.h). Format 1
// had its edges as text, edges.csv, edges.vcd and outputs.csv; it is judged and diagnosed as ever. A
// record.json without a number is older than the rule and of format 1; one with a newer number is
// refused by name.
//
// No wall clock is in it, but for frames.pcapng of a run in real time and who armed hardware when: two runs with one seed are
// the same byte for byte. ID#DATA is the notation of can-utils (bus/frame_text.h). All of it is
// handed to the system twice a second, so that a crash loses no more; in real time a thread of its
// own does that.
#ifndef DRYCRANK_RECORD_RECORD_H_
#define DRYCRANK_RECORD_RECORD_H_

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bus/driven.h"
#include "check/checker.h"
#include "profile/scenario_file.h"
#include "record/edge_channels.h"
#include "report/report.h"
#include "run/observer.h"
#include "scenario/timeline.h"
#include "types/diagnostic.h"

namespace drycrank::io {
class BackgroundWriter;
}

namespace drycrank::record {

// Hardware that somebody has allowed to be driven.
struct Armed {
  std::vector<bus::Driven> what;
  std::string by;
  std::string at;  // "2026-01-31T12:00:00Z"
};

struct RecordHead {
  std::string version;
  std::string scenario;
  std::string bench;
  std::uint64_t seed = 0;
  std::string mode;
  std::vector<std::string> interfaces;  // per bus, "vehicle: inproc"
  std::vector<std::string> files;       // profile files read
  std::optional<Armed> armed;           // nothing: no hardware is driven
  bool real_time = false;               // the run must not wait for the disk
};

class EdgeWriter;
class TextFile;

class RecordWriter : public run::RunObserver {
 public:
  // Empty on success, else what failed and what to do. An existing record is not overwritten unless
  // `overwrite`; then it stays as it is until the new one has been begun beside it.
  // REQUIRES: nobody else writes into the folder (io/folder_lock.h).
  [[nodiscard]] static std::string Open(const std::string& folder, bool overwrite,
                                        const RecordHead& head, const profile::Bench& bench,
                                        const profile::Scenario& scenario,
                                        const scenario::Timeline& timeline,
                                        std::unique_ptr<RecordWriter>& out);
  ~RecordWriter() override;

  void OnClockStart(TimeNs origin_ns) override;
  void OnStep(std::size_t step, TimeNs t_ns) override;
  void OnFault(const std::string& name, bool in_force, TimeNs t_ns) override;
  void OnFrame(const bus::TimedFrame& frame) override;
  void OnEdge(const Edge& edge) override;
  void OnOutput(const standin::OutputEvent& event) override;
  void OnMotion(const CrankMotion& motion) override;
  void OnSample(TimeNs t_ns) override;
  void OnDrive(int stimulus, double value, double over_s, TimeNs t_ns) override;
  void OnCrank(double rpm, TimeNs t_ns) override;
  void OnNote(const std::string& note, TimeNs t_ns) override;
  void OnUnobservable(int bus, const std::string& why, TimeNs t_ns) override;
  void OnObservable(int bus, TimeNs t_ns) override;
  void OnEnd(const std::string& why, TimeNs t_ns) override;
  void OnFinish(TimeNs t_ns) override;

  // The record ends here, the run goes on.
  void EndEarly(const std::string& why);
  // The line `end`, while the run's own thread hangs: from another one, which ends the process then.
  void EndFromOutside(TimeNs t_ns, const std::string& why);
  // Of all its files that grow, so far.
  std::uint64_t bytes() const;
  // While it is written: what cannot be written any more; empty: all is well.
  std::string trouble() const;
  // After OnFinish: empty when every byte is on its way to the disk, else what failed.
  const std::string& problem() const { return problem_; }

 private:
  RecordWriter(const profile::Bench& bench, const profile::Scenario& scenario,
               const scenario::Timeline& timeline);
  template <class Function>
  void ForEachFile(Function function) const;
  std::string HeadTrouble() const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  const scenario::Timeline& timeline_;
  std::filesystem::path folder_;
  std::unique_ptr<TextFile> events_, stimuli_, frames_, motion_;
  EdgeChannels channels_;
  std::unique_ptr<EdgeWriter> edges_;                 // none without a controller
  std::unique_ptr<io::BackgroundWriter> background_;  // real time only
  TimeNs origin_ns_ = 0;
  TimeNs next_stimuli_ns_ = 0, next_flush_ns_ = 0;
  TimeNs last_event_ns_ = 0;  // in events.csv
  std::string why_ended_ = "finished";
  std::string problem_;
};

// Feeds a record's steps and frames to a checker, in the order in which they happened. The timeline
// must be the one the checker reads. Problems have file and line; everything before the first one
// is kept. A line `drive` begins the next step, as study/live_scenario.h made them. `watcher` sees steps, frames and the end as in the run itself.
struct [[nodiscard]] PlayedRecord {
  std::vector<report::StepTime> steps;
  std::vector<std::string> notes;
  std::uint64_t seed = 0;
  std::string mode;
  std::string why_ended;  // "finished", "stopped by INT"; empty: not said
  std::uint64_t frames = 0;
  TimeNs duration_ns = 0;
  Diagnostics problems;
};

// The name of its scenario; empty: there is no readable record.
std::string ScenarioOf(const std::string& folder);

// What a bench that was run live was told, in order. `problem`: the first line that is none of it; what
// came before is kept.
struct DriveLine {
  TimeNs t_ns = 0;
  profile::Drive drive;
};
std::vector<DriveLine> DrivesOf(const std::string& folder, const profile::Bench& bench,
                                std::string& problem);

// Empty when the record in `folder` is of a format that is read here, or holds no readable
// record.json (PlayRecord says that); else why not, and what to do.
[[nodiscard]] std::string WhyNotReadRecord(const std::string& folder);

PlayedRecord PlayRecord(const std::string& folder, const profile::Bench& bench,
                        const profile::Scenario& scenario, scenario::Timeline& timeline,
                        check::Checker& checker, run::RunObserver* watcher = nullptr);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_RECORD_H_
