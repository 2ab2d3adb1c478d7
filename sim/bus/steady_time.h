// SPDX-License-Identifier: Apache-2.0
//
// Times of a recording that never go back, counted from its first frame. One rule for all that play, judge,
// cut or list a recording:
//
//   back by more than kAstrayNs   its clock was set: it goes on from there, without a gap
//   back by less                  it came by another interface, or late: at once, as the frame before
//   on by kPauseNs or more        a pause, or a clock that was set: it is kept
//
// No frame is left out by it. How often it was so is counted, for it is worth a word.
#ifndef DRYCRANK_BUS_STEADY_TIME_H_
#define DRYCRANK_BUS_STEADY_TIME_H_

#include <cstdint>
#include <optional>
#include <string>

#include "types/time.h"

namespace drycrank::bus {

inline constexpr TimeNs kPauseNs = 60 * kNsPerS;

// By how much a clock was set back between two frames; 0: it was not.
TimeNs SetBackNs(TimeNs before_ns, TimeNs t_ns);

class SteadyTime {
 public:
  // Of the next frame, since the first; never less than the one before.
  TimeNs Of(TimeNs t_ns);
  // Before the last frame: what lies between is not known, and no gap may be measured over it.
  bool was_set_back() const { return was_set_back_; }
  // "the time goes back 3 times, first at frame 12 by 0.5 s; ...", and the same of pauses; empty: neither.
  std::string Words() const;

 private:
  std::optional<TimeNs> last_ns_;  // of the file
  TimeNs origin_ns_ = 0, steady_ns_ = 0;
  // Of one kind: how often, and the first.
  struct Seen {
    std::uint64_t count = 0, first_frame = 0;
    TimeNs first_by_ns = 0;

    void Take(std::uint64_t frame, TimeNs by_ns);
    std::string Times() const;
  };

  std::uint64_t frames_ = 0;
  Seen back_, pauses_;
  bool was_set_back_ = false;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_STEADY_TIME_H_
