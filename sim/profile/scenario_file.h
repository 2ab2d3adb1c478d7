// SPDX-License-Identifier: Apache-2.0
//
// What a scenario file says, checked: a list of steps that follow each other, faults with their
// time, and expectations. Values are in the unit of the stimulus or signal concerned.
#ifndef DRYCRANK_PROFILE_SCENARIO_FILE_H_
#define DRYCRANK_PROFILE_SCENARIO_FILE_H_

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"
#include "profile/replay.h"

namespace drycrank::profile {

enum class DriveKind { kHold, kRamp, kSine, kPoints, kCrank };

// What a step does to one stimulus from its begin on. It lasts until another drive replaces it.
struct Drive {
  int stimulus = 0;
  DriveKind kind = DriveKind::kHold;
  double to = 0;      // hold: the value; ramp: the target; sine: the mean; crank: mean speed, rpm
  double over_s = 0;  // ramp: how long; default is the step's for_s
  double amplitude = 0;  // sine
  double period_s = 1;   // sine
  Points points;         // (s since the drive's begin, value), first at 0
  Place place;
};

enum class Compare { kEqual, kNotEqual, kAbove, kBelow };

// A condition on a bus signal. Values of signals with names may be written by name.
struct Condition {
  SignalRef signal;
  std::string text;  // "engine_status.sync equals synchronised", for people
  Compare compare = Compare::kEqual;
  double value = 0;
};

struct Step {
  std::string name;
  double for_s = 0;                   // length; with wait_for: the limit
  std::optional<Condition> wait_for;  // ends the step early, when it comes true
  std::vector<Drive> drives;
  Place place;
};

enum class ExpectationKind {
  kFollows,            // signal follows stimulus within tolerance after settle_s
  kAlways,             // condition holds at each reception
  kNever,              // condition holds at no reception
  kWithin,             // condition comes true within within_s after the begin of its time
  kForAtLeast,         // condition holds for at least for_s without interruption
  kMessagePresent,     // message arrives with period_ms +- jitter_ms
  kCounter,            // message's rolling counter rolls by one
  kChecksum,           // message's checksum is right
  kDisplayShows,       // gauge shows the stimulus (or a value), unit and state
  kSynchronised,       // condition comes true within `turns` crank turns of the first turn
  kOnlyKnownMessages,  // each frame of the bus has an identifier that the bench gives it
  kNoErrorFrames,      // no error is reported on the bus
  kControllerReads,    // the controller, asked, says the stimulus within tolerance
  kTroubleCode,        // the controller, asked, has the trouble code within within_s
  kNoTroubleCodes,     // the controller, asked, has none
  kWitnessed,          // an operator or a capture says so; not in files, the walk adds it
};
const char* Name(ExpectationKind kind);

struct Expectation {
  std::string name;
  ExpectationKind kind = ExpectationKind::kAlways;
  std::string means;                // what its failure means to a person at the bench
  std::vector<std::string> proves;  // circuits proven when it is met
  std::vector<std::string> during;  // steps; empty = the whole run
  Condition condition;              // kAlways, kNever, kWithin, kForAtLeast, kSynchronised
  SignalRef signal;                 // kFollows
  std::string signal_text;          // "engine_temps.coolant"
  int stimulus = -1;                // kFollows, kDisplayShows
  std::optional<double> value;      // kFollows, kDisplayShows: a fixed value instead of a stimulus
  double tolerance = 0;             // kFollows: stimulus unit; kDisplayShows: gauge unit
  double settle_s = 0;              // not judged for so long after a step begins
  double within_s = 0;
  double for_s = 0;
  double turns = 0;
  MessageRef message;  // kMessagePresent, kCounter, kChecksum
  std::string message_text;
  double period_ms = 0, jitter_ms = 0;
  int bus = -1;  // kOnlyKnownMessages, kNoErrorFrames
  std::string bus_text;
  std::vector<std::uint32_t> also;  // kOnlyKnownMessages: identifiers that may be there too
  int gauge = -1;
  std::optional<std::string> unit;   // kDisplayShows: canonical unit that must be shown
  std::optional<std::string> state;  // kDisplayShows: "ok", "warning", "stale"
  Question question;                 // kControllerReads, kTroubleCode, kNoTroubleCodes
  bool absolute = false;  // kFollows, kDisplayShows: gauge-pressure stimulus plus barometer
  Place place;
};

struct Scenario {
  std::string file;
  std::string bench_file;  // resolved path
  std::string name;
  std::string title;
  std::uint64_t seed = 1;
  std::vector<Step> steps;
  std::vector<Fault> faults;
  std::vector<Replay> replays;
  std::vector<Expectation> expectations;
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_SCENARIO_FILE_H_
