// SPDX-License-Identifier: Apache-2.0
//
// A recording that a scenario plays as the traffic of one bus, as its file says. Which frames of
// the recording are played, and who is silent meanwhile:
//   - a frame of a message of the bench is played when the message's sender is in `instead_of`;
//     that sender leaves the message out for the whole run
//   - a frame whose identifier the bench does not know is played
//   - `only` (when not empty) and `without` leave frames out of both; a message that is left out is
//     sent by its own sender as ever
// Remote frames are played, error reports of the recording's interface are not.
#ifndef DRYCRANK_PROFILE_PLAYED_RECORDING_H_
#define DRYCRANK_PROFILE_PLAYED_RECORDING_H_

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "profile/message.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

struct FrameId {
  std::uint32_t id = 0;
  bool extended = false;

  friend bool operator==(const FrameId&, const FrameId&) = default;
};

// A message whose recorded frames get live values: these signals from these stimuli, then the
// message's counter and checksum anew. All other bits are as recorded.
struct Override {
  struct Value {
    int signal = 0;
    int stimulus = 0;
  };
  int message = 0;  // of the replay's bus
  std::vector<Value> values;
};

struct Replay {
  std::string file;       // resolved path
  int bus = 0;            // of the bench
  std::string interface;  // of the recording; empty: the one with the bus's name, or the only one
  double speed = 1;       // 2: twice as fast as recorded
  double begin_s = 0;     // when in the run it begins
  double from_s = 0;      // what part of the recording, from its own begin
  std::optional<double> to_s;
  bool loop = false;
  double pause_s = 0.01;  // between the last frame and the first of the next round
  std::vector<Sender> instead_of = {Sender::kSimulator, Sender::kController};
  std::vector<FrameId> only, without;
  std::vector<Override> overrides;
  Place place;
};

// Is a frame with this identifier of a message by this sender (none: no message of the bench) to
// be played?
bool Plays(const Replay& replay, FrameId id, std::optional<Sender> sender);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_PLAYED_RECORDING_H_
