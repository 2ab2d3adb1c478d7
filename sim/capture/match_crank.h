// SPDX-License-Identifier: Apache-2.0
//
// Which wheel a crank's channel shows, which way round, and the crank's angle over the capture by it.
#ifndef DRYCRANK_CAPTURE_MATCH_CRANK_H_
#define DRYCRANK_CAPTURE_MATCH_CRANK_H_

#include "capture/match.h"

namespace drycrank::capture {

// One wheel laid under a channel, the better way round.
struct WheelTried {
  WheelPattern pattern;
  std::string file;  // of a part; empty: as built
  Laid laid;
  bool steep_rises = false;  // of a coil: the steep crossing of each tooth goes up
  double other_way_cost = 1;
  int gone_tooth = 0;           // of the bench's own wheel
  std::vector<int> alike = {};  // teeth, each of which gone would fit as well: the wheel turned
  bool fits() const { return laid.cost < kFits; }
};

struct CrankMatch {
  TriggerMatch about;
  WheelTried tried;
  CrankTrack track;
  bool is_even = false;
  bool is_by_chance = false;  // what fits best does so for a short way only: it is no wheel's track
  double open_deg =
      360;  // wheel_pattern.h: where a turn begins is known but for whole ones of these
  // Of a coil that may be either way round, how far all angles are off if it is the other: half a tooth.
  double either_way_deg = 0;
};

// The edges that a pattern of this channel is laid under: all, or those of one direction.
std::vector<SeenChange> EdgesOf(const CapturedChannel& channel, bool both, bool rising);

// The bench's own wheel, else the part that fits best, else the bench's own with a tooth gone.
CrankMatch MatchCrank(const profile::Bench& bench, const CapturedChannel& channel,
                      const std::vector<WheelPart>& parts);
// The bench's own wheel with this tooth gone.
CrankMatch MatchCrankWithout(const profile::Bench& bench, const CapturedChannel& channel,
                             int tooth);
// With this wheel and no other.
CrankMatch MatchCrankAs(const profile::Bench& bench, const CapturedChannel& channel,
                        const WheelPart& part);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_MATCH_CRANK_H_
