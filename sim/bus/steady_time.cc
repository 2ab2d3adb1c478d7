// SPDX-License-Identifier: Apache-2.0
#include "bus/steady_time.h"

#include <fmt/format.h>

#include <algorithm>

#include "bus/recording.h"

namespace drycrank::bus {

TimeNs SetBackNs(TimeNs before_ns, TimeNs t_ns) {
  return before_ns - t_ns > kAstrayNs ? before_ns - t_ns : 0;
}

TimeNs SteadyTime::Of(TimeNs t_ns) {
  ++frames_;
  if (!last_ns_) origin_ns_ = t_ns;
  const TimeNs before_ns = last_ns_.value_or(t_ns);
  last_ns_ = t_ns;
  if (t_ns < before_ns) back_.Take(frames_, before_ns - t_ns);
  if (t_ns - before_ns >= kPauseNs) pauses_.Take(frames_, t_ns - before_ns);
  // It goes on from where it was, not from what the frame before had read on its clock.
  was_set_back_ = SetBackNs(before_ns, t_ns) > 0;
  if (was_set_back_) origin_ns_ = t_ns - steady_ns_;
  return steady_ns_ = std::max(steady_ns_, t_ns - origin_ns_);
}

void SteadyTime::Seen::Take(std::uint64_t frame, TimeNs by_ns) {
  if (count++ > 0) return;
  first_frame = frame;
  first_by_ns = by_ns;
}

std::string SteadyTime::Seen::Times() const {
  return count == 1 ? "once" : fmt::format("{} times", count);
}

std::string SteadyTime::Words() const {
  std::string words;
  if (back_.count > 0) {
    words = fmt::format(
        "the time goes back {}, first at frame {} by {:.6g} s; no frame is left out for it",
        back_.Times(), back_.first_frame, ToSeconds(back_.first_by_ns));
  }
  if (pauses_.count > 0) {
    words +=
        fmt::format("{}nothing comes for a minute or more {}, first before frame {} for {:.6g} s",
                    words.empty() ? "" : "; ", pauses_.Times(), pauses_.first_frame,
                    ToSeconds(pauses_.first_by_ns));
  }
  return words;
}

}  // namespace drycrank::bus
