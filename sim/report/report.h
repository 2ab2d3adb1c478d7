// SPDX-License-Identifier: Apache-2.0
//
// What a run is reported as: a table on the terminal, JSON, JUnit XML, and one self-contained HTML
// page. All four come from this one value, so that they cannot disagree. No clock is read: the same
// run gives the same bytes.
#ifndef DRYCRANK_REPORT_REPORT_H_
#define DRYCRANK_REPORT_REPORT_H_

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "check/checker.h"
#include "check/coverage.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "report/cycle.h"
#include "report/message_line.h"
#include "types/time.h"

namespace drycrank::report {

// One channel of the oscilloscope picture: a broken line (t, V) or logic levels (t, 0/1).
struct ScopeChannel {
  std::string name;    // "crank at ECU.30"
  std::string unit;    // "V"; empty for a logic level
  bool logic = false;  // holds its level between points
  std::vector<std::pair<TimeNs, double>> points;
  std::vector<std::pair<double, std::string>> levels = {};  // lines across: "low below 1.5 V"
};
struct ScopePicture {
  std::string title;  // "Crank and cam around synchronisation"
  TimeNs begin_ns = 0, end_ns = 0;
  std::vector<ScopeChannel> channels;
  std::vector<std::pair<TimeNs, std::string>> marks;  // "synchronised", "tooth 1"
};

struct StepTime {
  std::string name;
  TimeNs begin_ns = 0, end_ns = 0;
  std::string note;  // "waited 3.0 s in vain for engine_status.sync equals synchronised"
};

struct BusLine {
  std::string bus, interface;  // "vehicle", "inproc"
  std::uint64_t sent = 0, received = 0, refused = 0, lost = 0;
  // Share of its time taken, 1 is full; negative: not known.
  double load_on_paper = -1, load_measured = -1;
  // Of the sent ones, where the interface tells whether they got out (`confirms`).
  bool confirms = false;
  std::uint64_t confirmed = 0, unconfirmed = 0;
};

// What the sheet to sign says besides the verdict. Empty: left open, to be written by hand.
struct SheetFacts {
  std::string serial, revision;                       // of the harness
  std::string controller_firmware, display_firmware;  // as read from them
  std::string date_time;                              // of the run
  std::string record_checksum;                        // SHA-256 of its events.csv
};

struct Report {
  std::string version;       // of drycrank
  std::string hint_command;  // how to run it again
  const profile::Bench* bench = nullptr;
  const profile::Scenario* scenario = nullptr;
  std::uint64_t seed = 0;
  TimeNs duration_ns = 0;
  std::string mode;  // "virtual time, stand-ins" / "real time" ...
  bool controller_real = false, display_real = false;  // else a stand-in played it
  bool is_walk = false;                                // every circuit was to be shown
  bool stopped = false;                                // ended from outside, before its end
  bool from_recording = false;                         // frames of elsewhere, and nothing else
  SheetFacts sheet;
  std::vector<check::Verdict> verdicts;
  // When the controller sent nothing at all; nothing: that is not known.
  std::optional<std::vector<check::QuietStretch>> quiet;
  std::vector<check::CircuitCoverage> coverage;
  std::vector<StepTime> steps;
  std::vector<CyclePicture> cycles;
  std::vector<ScopePicture> pictures;
  std::vector<BusLine> buses;
  std::vector<MessageLine> messages;
  std::vector<std::string> notes;  // trouble of interfaces, things a reader must know
};

// Below: REQUIRES bench and scenario set, and every index in verdicts and coverage within the
// scenario's expectations.

// Is what was not seen a failure? Not of a stopped run, nor of real parts of which nothing came at all.
bool UnseenIsFailure(const Report& report);
// Every expectation is met, there is one, and the run came to its end.
bool AllMet(const Report& report);
// An expectation failed, or what it waits for was not seen; not: it could not be observed. Of a
// stopped run, what was not seen is not shown.
bool AnyFailed(const Report& report);

// Table, worst first: verdict, expectation, margin, worst moment; then for each failure the
// profile's sentence and the detail; then coverage, and one line of summary. Colour by ANSI codes
// when `colour`.
std::string Terminal(const Report& report, bool colour, int columns);
// One object; its keys are listed in json.cc and stay.
std::string Json(const Report& report);
std::string JunitXml(const Report& report);
std::string Html(const Report& report);

// The usual cautions, one sentence each; shown in the page, at arming, in the record.
const std::vector<std::string>& Cautions();

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_REPORT_H_
