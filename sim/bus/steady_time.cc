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
  if (t_ns < before_ns && went_back_++ == 0) {
    first_frame_ = frames_;
    first_by_ns_ = before_ns - t_ns;
  }
  // It goes on from where it was, not from what the frame before had read on its clock.
  was_set_back_ = SetBackNs(before_ns, t_ns) > 0;
  if (was_set_back_) origin_ns_ = t_ns - steady_ns_;
  return steady_ns_ = std::max(steady_ns_, t_ns - origin_ns_);
}

std::string SteadyTime::Words() const {
  if (went_back_ == 0) return "";
  return fmt::format(
      "the time goes back {}, first at frame {} by {:.6g} s; no frame is left out for it",
      went_back_ == 1 ? "once" : fmt::format("{} times", went_back_), first_frame_,
      ToSeconds(first_by_ns_));
}

}  // namespace drycrank::bus
