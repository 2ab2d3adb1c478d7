// SPDX-License-Identifier: Apache-2.0
//
// Disturbances from outside on one pickup's signal: they come by chance (Poisson: the time from the
// begin of one to the begin of the next is exponential with mean 1/rate, at the least the width), each
// lasts the same time, and has a sign by chance. Seeded: the same seed, the same disturbances.
#ifndef DRYCRANK_PLANT_DISTURBANCES_H_
#define DRYCRANK_PLANT_DISTURBANCES_H_

#include <cstdint>

#include "types/random.h"
#include "types/time.h"

namespace drycrank::plant {

struct NoiseLaw {
  double rate_hz = 0;  // 0: none
  TimeNs width_ns = 0;
  double volts = 0;  // at a coil

  friend bool operator==(const NoiseLaw&, const NoiseLaw&) = default;
};

class Disturbances {
 public:
  Disturbances(std::uint64_t seed, std::uint64_t stream) : random_(seed, stream) {}

  // From t_ns on by this law; one that goes on is not begun anew. Whether a disturbance ended by it.
  bool Set(TimeNs t_ns, const NoiseLaw& law);

  // When a disturbance begins or ends next; kNever: none does.
  TimeNs next_ns() const { return next_ns_; }
  // REQUIRES: next_ns() != kNever. It has begun, or ended.
  void Take();

  bool on() const { return on_; }
  double volts() const { return on_ ? (plus_ ? law_.volts : -law_.volts) : 0; }

 private:
  TimeNs Pause();

  Random random_;
  NoiseLaw law_;
  bool on_ = false, plus_ = false;
  TimeNs next_ns_ = kNever;
};

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_DISTURBANCES_H_
