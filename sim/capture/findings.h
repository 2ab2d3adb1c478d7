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
  const MatchOptions& options;
};

std::vector<Finding> FindingsOf(const Measured& measured);

constexpr double kHalfTurnDeg = 45;  // this near to 360 a delay is half a turn of the cam

// Of an angle against the crank, which may itself be off by half a tooth.
double ToleranceDeg(const Measured& measured);

// "18.0° late", "3.1° early".
std::string LateInWords(double deg);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_FINDINGS_H_
