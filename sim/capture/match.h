// SPDX-License-Identifier: Apache-2.0
//
// A capture of an engine against a bench: which wheel turns past each pickup, which way round it is
// wired, how far each cam edge and each coil and injector is from where the bench has it, in
// degrees of the crank.
//
// The crank's wheel as built is the measure of all angles. It is the same after each turn, so which
// of the two turns of a cycle is which comes from the first cam, and is known to be right only
// where coils fire once in a cycle. What a capture cannot show is said, never taken for good.
#ifndef DRYCRANK_CAPTURE_MATCH_H_
#define DRYCRANK_CAPTURE_MATCH_H_

#include <optional>
#include <string>
#include <vector>

#include "capture/crank_track.h"
#include "capture/learn_wheel.h"
#include "capture/read_capture.h"
#include "profile/bench.h"
#include "profile/wheel_shape.h"

namespace drycrank::capture {

struct MatchOptions {
  double tolerance_deg = 2;                 // of crank
  std::optional<double> fixed_advance_deg;  // what the controller was told to fire at
};

enum class Wiring { kAsDrawn, kReversed, kCannotTell };

struct EdgePlace {
  std::string what;  // "tooth 2 begins"
  double due_deg = 0, is_deg = 0, off_deg = 0;
  bool seen = true;
};

// Of one trigger of the bench.
struct TriggerMatch {
  int trigger = -1;
  std::string name;   // of the bench
  std::string how;    // how its edges were found
  std::string wheel;  // the best, by name: of the bench, of a part; empty: none fits
  std::string part;   // the part's file; empty: the bench's own
  bool is_as_built = false;
  bool changes = true;  // its level, at all
  double cost = 1;  // pattern_search.h; of the crank
  Wiring wiring = Wiring::kCannotTell;
  int teeth_seen = 0, missing = 0, extra = 0;
  std::optional<double> late_deg;                // of a cam, against the crank
  double uncertain_deg = 0;                      // one standard error, and a sample
  double least_late_deg = 0, most_late_deg = 0;  // over the capture
  std::vector<EdgePlace> edges;                  // of a cam
  std::vector<int> gone_teeth;                   // that the bench has
};

// Of one coil or injector.
struct OutputMatch {
  std::string name;
  Role role = Role::kCoil;
  int cylinder = 0;
  int pulses = 0;
  double per_cycle = 0;
  bool on_high = true;
  double end_deg = 0;     // in the cycle: spark, end of injection
  double before_deg = 0;  // the same before its top dead centre: firing, or of intake
  double spread_deg = 0;  // standard deviation
  double width_ms = 0, least_width_ms = 0, most_width_ms = 0;
  std::optional<double> off_deg;  // late, against what the bench has
  int fires_as = 0;               // the cylinder whose place it has; 0: none
  Role fires_as_role = Role::kCoil;  // ... and of a coil, which plug's
  int missing = 0, extra = 0;
};

enum class Says { kOff, kCannotTell, kNote };
struct Finding {
  Says says = Says::kNote;
  std::string text;
};

struct [[nodiscard]] MatchResult {
  Diagnostics problems;          // bad input: nothing was matched
  ReadResult capture;            // without its edges
  double samples_per_tooth = 0;  // where fewest; 0: no samples
  double least_rpm = 0, most_rpm = 0, turns = 0;
  std::vector<TriggerMatch> triggers;
  std::vector<OutputMatch> outputs;
  std::vector<Finding> findings;
  std::string injectors_off;  // what is off of all injections alike, in words; empty: nothing
  std::optional<LearntWheel> learnt;  // the crank's wheel

  bool Any(Says says) const;
};

struct WheelPart {
  std::string file;
  profile::Wheel wheel;
};

MatchResult Match(const profile::Bench& bench, const std::string& path, const ChannelMap& map,
                  const std::vector<WheelPart>& parts, const MatchOptions& options);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_MATCH_H_
