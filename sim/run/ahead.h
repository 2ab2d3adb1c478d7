// SPDX-License-Identifier: Apache-2.0
//
// What was made of one instant before it has come, so that only sending is left then.
//
//   Begin(due)     Send, Tell, Note ...     frames()            Take
//   ----|---------------|----------------------|-----------------|---->  time
//       while there is time              due: to the       delivered to all who
//                                        interfaces first  listen here, notes told
//
// Nothing is late yet when it is made: that is judged when it is handed over.
#ifndef DRYCRANK_RUN_AHEAD_H_
#define DRYCRANK_RUN_AHEAD_H_

#include <span>
#include <string>
#include <utility>
#include <vector>

#include "profile/bench.h"
#include "run/outlet.h"
#include "types/time.h"

namespace drycrank::run {

class Ahead : public Outlet {
 public:
  enum class Way {
    kSent,
    kReplayed,  // of a recording, to the outside
    kTold,      // no wire carries it
  };
  struct Made {
    bus::TimedFrame frame;
    Origin origin = Origin::kSimulator;
    int message = -1;
    Way way = Way::kSent;
  };

  explicit Ahead(const profile::Bench& bench);

  // The instant that is made already; kNever: none.
  TimeNs due_ns() const { return due_ns_; }
  // From here on is kept what that instant sends. REQUIRES: due_ns() == kNever.
  void Begin(TimeNs due_ns);
  // True once: the frames are to go to the interfaces now.
  bool TakeHandOver() { return !std::exchange(handed_over_, true); }
  template <class IsTooLate>
  void LeaveOut(const IsTooLate& is_too_late) {
    std::erase_if(frames_, is_too_late);
  }
  std::span<const Made> frames() const { return frames_; }
  std::span<const std::string> notes() const { return notes_; }
  // It has come and everybody was told.
  void End();

  // Edges and waves alone are played up to here; further where an instant is made.
  TimeNs played_ns() const { return played_ns_; }
  void PlayedTo(TimeNs t_ns) { played_ns_ = t_ns; }

  std::span<const TimeNs> LateNs(TimeNs t_ns) override;
  void Send(const bus::TimedFrame& frame, Origin origin, int message) override;
  void SendReplayed(const bus::TimedFrame& frame, int message) override;
  void Tell(const bus::TimedFrame& frame, Origin origin) override;
  void Note(const std::string& text, TimeNs t_ns) override;

 private:
  TimeNs due_ns_ = kNever;
  TimeNs played_ns_ = 0;
  bool handed_over_ = true;
  std::vector<Made> frames_;  // sized at construction
  std::vector<std::string> notes_;
  std::vector<TimeNs> on_time_;  // 0 per bus
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_AHEAD_H_
