// SPDX-License-Identifier: Apache-2.0
//
// The one thing that paces a run. Virtual time: a clock that jumps. Real time: io/real_clock.h. Tests
// of pacing: ManualClock, which goes only when told.
#ifndef DRYCRANK_TYPES_CLOCK_H_
#define DRYCRANK_TYPES_CLOCK_H_

#include <span>

#include "types/time.h"

namespace drycrank {

class Clock {
 public:
  virtual ~Clock() = default;
  // Time 0 is now.
  virtual void Start() {}
  // Of time 0, since 1970; virtual time: 0.
  virtual TimeNs OriginNs() const { return 0; }
  // A wait takes real time: whoever is waited for must not wait for a disk.
  virtual bool IsReal() const { return false; }
  // Since the last Start, or construction; never goes back otherwise.
  virtual TimeNs Now() = 0;
  // Returns at `due_ns`, or earlier when one of the descriptors becomes readable.
  virtual void WaitUntil(TimeNs due_ns, std::span<const int> descriptors) = 0;
};

// Virtual time: every wait is over at once.
class VirtualClock : public Clock {
 public:
  void Start() override { now_ns_ = 0; }
  TimeNs Now() override { return now_ns_; }
  void WaitUntil(TimeNs due_ns, std::span<const int> /*descriptors*/) override {
    if (due_ns > now_ns_) now_ns_ = due_ns;
  }

 private:
  TimeNs now_ns_ = 0;
};

// A wait overshoots by `late_ns`, as a busy machine would.
class ManualClock : public Clock {
 public:
  TimeNs Now() override { return now_ns_; }
  void WaitUntil(TimeNs due_ns, std::span<const int> /*descriptors*/) override {
    if (due_ns > now_ns_) now_ns_ = due_ns;
    now_ns_ += late_ns_;
    ++waits_;
  }
  void Advance(TimeNs by_ns) { now_ns_ += by_ns; }
  void set_late_ns(TimeNs late_ns) { late_ns_ = late_ns; }
  int waits() const { return waits_; }

 private:
  TimeNs now_ns_ = 0;
  TimeNs late_ns_ = 0;
  int waits_ = 0;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_CLOCK_H_
