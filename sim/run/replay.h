// SPDX-License-Identifier: Apache-2.0
//
// Recordings played as the traffic of a bus (profile/played_recording.h says which frames). A frame is due at
//
//   begin_s + (its time in the recording - from_s) / speed
//
// where a recording's time counts from its first frame, or, when it was made in virtual time, from
// the start of that run. Never before the frame ahead of it: order is kept, whatever the times say.
// Looped, the next round's first frame follows pause_s after the last one.
//
// The file is read while it is played, one frame ahead; memory does not grow with its length.
#ifndef DRYCRANK_RUN_REPLAY_H_
#define DRYCRANK_RUN_REPLAY_H_

#include <fstream>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "bus/recording.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "types/diagnostic.h"

namespace drycrank::run {

class Replay {
 public:
  using StimulusAt = std::function<double(int stimulus, TimeNs t_ns)>;

  // Bench and profile must outlive it.
  Replay(const profile::Bench& bench, const profile::Replay& profile, StimulusAt stimulus_at);

  // Why it cannot be played; then it plays nothing.
  const Diagnostics& problems() const { return problems_; }
  TimeNs NextDue() const { return due_ns_; }
  // REQUIRES: NextDue() <= t_ns.
  bus::TimedFrame Take(TimeNs t_ns);
  // Which message of the bus that is; -1: not in the bench.
  int NextMessage() const;
  // Damage and jumps of time that were come upon, once each; empty when there is nothing new.
  std::string TakeNote();

 private:
  enum class Found { kFrame, kEnd };

  bool Begin();
  void ReadAhead();
  void FollowTime(std::uint64_t at);
  Found FindFrame();
  bool IsLongEnough();
  bool Rewind();
  bool IsPlayed() const;
  const profile::Message* MessageOf(profile::FrameId id) const;
  void ApplyOverrides(bus::Frame& frame, TimeNs t_ns);
  void Complain(std::string what, std::string remedy);
  TimeNs InRecording() const { return next_.t_ns - origin_ns_; }

  const profile::Bench& bench_;
  const profile::Replay& profile_;
  StimulusAt stimulus_at_;
  Diagnostics problems_;
  std::ifstream file_;
  std::optional<bus::RecordingReader> reader_;
  bus::RecordingReader::Place begin_;
  std::string interface_;
  TimeNs origin_ns_ = 0;        // of the recording's own time; moves when its clock was set back
  TimeNs begin_origin_ns_ = 0;  // at begin_
  TimeNs round_begin_ns_ = 0;   // of the run: when the frame at round_from_ns_ is due
  TimeNs round_from_ns_ = 0;    // in the recording
  TimeNs due_ns_ = kNever;
  bus::RecordedFrame next_;
  std::uint64_t round_frames_ = 0, round_ = 0;
  std::optional<TimeNs> last_ns_;  // the file's time of the frame before
  std::vector<std::string> notes_;
  std::vector<std::uint64_t> counts_;  // frames sent, per override
  std::size_t damage_told_ = 0;
};

// All replays of a scenario, in time order; among equal times, in the order of the profile.
class Replays {
 public:
  Replays(const profile::Bench& bench, const profile::Scenario& scenario,
          const Replay::StimulusAt& stimulus_at);

  TimeNs NextDue() const;
  // False: nothing is due at or before t_ns. `message`: its index in the bus, -1: not in the bench.
  bool TakeDue(TimeNs t_ns, bus::TimedFrame& out, int& message);
  std::string TakeNote();
  const std::vector<std::unique_ptr<Replay>>& list() const { return list_; }
  // Does a replay play this message of the bench, so that its sender is to leave it out?
  bool Covers(int bus, const profile::Message& message) const;

 private:
  const profile::Scenario& scenario_;
  std::vector<std::unique_ptr<Replay>> list_;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_REPLAY_H_
