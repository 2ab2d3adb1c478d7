// SPDX-License-Identifier: Apache-2.0
//
// What a controller's protections did when they were tried: at which value each acts and lets go, how long
// it takes, and what it does with its sensor's wire open and shorted. As a table on the terminal, JSON,
// JUnit XML, and one self-contained page, all of this one value.
#ifndef DRYCRANK_REPORT_LIMITS_TRIED_H_
#define DRYCRANK_REPORT_LIMITS_TRIED_H_

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/protection.h"
#include "report/summary.h"

namespace drycrank::report {

// With its sensor's wire broken: does it act while the value is good, does it when it is beyond?
struct Blinded {
  bool tried = false;
  bool acts_while_good = false, acts_beyond = false;
  double after_s = 0;  // the wire broke; acts_while_good
};
// "acts after 0.21 s", "acts as before", "no longer acts"
std::string InWords(const Blinded& blinded);

// `bench.protections[index]`. A value of the watched channel, in its unit, unless said otherwise.
struct LimitResult {
  int index = 0;
  std::optional<double> trips_at, released_at;  // slowly
  std::optional<double> within_ms;              // at once: from the value's jump until it acts
  double within_allowed_ms = 0;
  std::optional<double> let_go_ms;       // at once, back
  std::optional<double> limited_to_rpm;  // kLimitSpeed
  double engine_rpm = 0;                 // while it was tried
  Blinded open, shorted;
  std::vector<std::string> failures;   // plain sentences
  std::vector<std::string> not_shown;  // why something was not tried, or not seen

  check::Outcome outcome() const;
};

struct Limits {
  std::string version;
  const profile::Bench* bench = nullptr;
  std::uint64_t seed = 1;
  std::vector<std::string> faults;  // put in, in words
  std::vector<LimitResult> results;
};

// REQUIRES, of all below: bench is set.
bool AnyFailed(const Limits& limits);
bool AnyNotShown(const Limits& limits);

// "150.0 kPa"
std::string ValueInWords(const profile::Protection& protection, double value);
// Which protections a broken wire takes away, whatever was required of them; empty: of none.
std::string BlindSentence(const Limits& limits);
// "5 protections tried: 4 act as they should, 1 does not."
std::string LimitsSentence(const Limits& limits);

std::string LimitsText(const Limits& limits, int columns);
std::string LimitsJson(const Limits& limits);
std::string LimitsJunit(const Limits& limits);
std::string LimitsHtml(const Limits& limits);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_LIMITS_TRIED_H_
