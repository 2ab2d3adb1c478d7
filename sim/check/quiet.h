// SPDX-License-Identifier: Apache-2.0
//
// When the controller sent nothing at all: frames in, stretches without one of its messages out, of
// more than three and a half periods of the one that comes most often (at most kQuietNs). Without
// supply a controller is silent on every bus at once; while any message of it comes, neither supply
// nor ground is gone for longer than that.
#ifndef DRYCRANK_CHECK_QUIET_H_
#define DRYCRANK_CHECK_QUIET_H_

#include <algorithm>
#include <vector>

#include "types/time.h"

namespace drycrank::check {

struct QuietStretch {
  TimeNs begin_ns = 0, end_ns = 0;
};

class Quiet {
 public:
  // The shortest period of the controller's messages; 0: none is cyclic.
  explicit Quiet(TimeNs period_ns)
      : quiet_ns_(period_ns > 0 ? std::min(kQuietNs, period_ns * 7 / 2) : kQuietNs) {}
  // A frame of the controller's. REQUIRES: in the order of their times.
  void OnFrame(TimeNs t_ns) {
    EndAt(t_ns);
    last_ns_ = t_ns;
  }
  void Finish(TimeNs t_ns) { EndAt(t_ns); }
  // At most kMostStretches; later ones are left out, the last one grows over them.
  const std::vector<QuietStretch>& stretches() const { return stretches_; }

  static constexpr TimeNs kQuietNs = 150 * kNsPerMs;
  static constexpr std::size_t kMostStretches = 256;

 private:
  void EndAt(TimeNs t_ns) {
    if (t_ns - last_ns_ <= quiet_ns_) return;
    if (stretches_.size() < kMostStretches) {
      stretches_.push_back({last_ns_, t_ns});
    } else {
      stretches_.back().end_ns = t_ns;
    }
  }
  TimeNs quiet_ns_;
  TimeNs last_ns_ = 0;
  std::vector<QuietStretch> stretches_;
};

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_QUIET_H_
