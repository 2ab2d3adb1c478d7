// SPDX-License-Identifier: Apache-2.0
//
// One scenario from start to report: runner, record, oscilloscope picture, and for a run with faults
// the same stretch of time on the healthy bench beside it.
#ifndef DRYCRANK_STUDY_PLAY_H_
#define DRYCRANK_STUDY_PLAY_H_

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "record/record.h"
#include "report/report.h"
#include "run/pace.h"
#include "run/runner.h"
#include "types/clock.h"

namespace drycrank::study {

struct PlayOptions {
  run::RunOptions run;
  std::string mode = "virtual time, stand-ins for controller and display";
  std::string hint_command;
  std::vector<std::string> files;  // profile files read, for the record
  std::string record_folder;       // empty: no record
  bool overwrite = false;
  // Is that folder still where it was? One that was moved away gets nothing more.
  std::function<bool()> folder_is_there = [] { return true; };
  std::optional<record::Armed> armed;  // hardware that may be driven, for the record
  bool pictures = true;
  bool weigh = true;       // which circuits the run has shown (circuits_shown.h)
  bool outputs_driven = false;  // the bench's, armed
  Clock* clock = nullptr;  // required
  run::WhyStop why_stop;
  // Told when the record has been begun, before anything is played.
  std::function<void(record::RecordWriter&)> on_record;
  std::vector<run::RunObserver*> observers;
};

struct [[nodiscard]] PlayResult {
  report::Report report;  // points to the bench and scenario given
  std::string problem;    // empty, or what of the record could not be written
  bool stopped = false;   // ended from outside
  std::uint64_t frames = 0;
};

PlayResult Play(const profile::Bench& bench, const profile::Scenario& scenario,
                const PlayOptions& options);

// Per bus, for a record: "vehicle: socketcan:can0 (receive stamps of the kernel)".
std::vector<std::string> InterfaceWords(const profile::Bench& bench,
                                        std::span<bus::CanBus* const> interfaces);

// "0.1.0"
const char* Version();

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_PLAY_H_
