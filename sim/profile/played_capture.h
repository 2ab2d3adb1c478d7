// SPDX-License-Identifier: Apache-2.0
//
// A capture of a real engine that a scenario plays in the place of the bench's own wheels: crank and cams
// that it has, with whatever is wrong with them. Where the crank stands nobody knows then; the bench's
// other sensors go on from the scenario's stimuli.
//
//   controller   the trace was taken at the controller's pins, behind a harness: it drives those pins
//                themselves, and the bench's harness does not reach them
//   sensor       it was taken at the sensors: it goes through the bench's harness
#ifndef DRYCRANK_PROFILE_PLAYED_CAPTURE_H_
#define DRYCRANK_PROFILE_PLAYED_CAPTURE_H_

#include <optional>
#include <string>

#include "types/diagnostic.h"

namespace drycrank::profile {

enum class PlayedAt { kController, kSensor };

struct PlayedCapture {
  std::string file;  // resolved path
  std::string map;   // resolved path; empty: its columns are called as the bench's triggers
  PlayedAt at = PlayedAt::kController;
  double begin_s = 0;          // when in the run it begins; before, the engine stands
  double from_s = 0;           // what of it is played, from its own begin ...
  std::optional<double> to_s;  // ... to here, or to its end; then the engine stands still
  Place place;
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_PLAYED_CAPTURE_H_
