// SPDX-License-Identifier: Apache-2.0
//
// What was measured of wheels and outputs as sentences: what is off and by how many degrees, which fault
// explains it, and what this capture cannot tell.
#ifndef DRYCRANK_CAPTURE_FINDINGS_H_
#define DRYCRANK_CAPTURE_FINDINGS_H_

#include "capture/match.h"
#include "capture/match_outputs.h"

namespace drycrank::capture {

struct Measured {
  const profile::Bench& bench;
  const std::vector<CapturedChannel>& channels;
  const CrankMatch* crank;  // nothing: no channel of it
  const std::vector<TriggerMatch>& cams;
  const OutputsMatch& outputs;
  const CycleZero& zero;
  double step_deg;  // from one sample to the next, where the crank turns fastest
  const MatchOptions& options;
};

std::vector<Finding> FindingsOf(const Measured& measured);

constexpr double kHalfTurnDeg = 45;  // this near to 360 a delay is half a turn of the cam

// Of an angle: as asked for, or a sample, which is all that is seen. And against the crank, which may
// itself be off by half a tooth.
double OwnToleranceDeg(const Measured& measured);
double ToleranceDeg(const Measured& measured);

// Of a crank's level that looks the same either way, half a turn on: what else half a turn may be.
std::string OrInverted(const Measured& measured, double late_deg);

// "18.0° late", "3.1° early".
std::string LateInWords(double deg);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_FINDINGS_H_
