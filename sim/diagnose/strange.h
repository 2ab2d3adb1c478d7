// SPDX-License-Identifier: Apache-2.0
//
// Frames that nobody on the bench sends. Somebody does: a node that babbles, or the sender of a message
// that stays away, when they come as often as that should.
//
//   log L = - 12 for each such identifier that the hypothesis has no sender for, two at most
#ifndef DRYCRANK_DIAGNOSE_STRANGE_H_
#define DRYCRANK_DIAGNOSE_STRANGE_H_

#include <cstdint>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "diagnose/hypothesis.h"

namespace drycrank::diagnose {

// One identifier that is no message of the bench, as it was heard.
struct Stranger {
  int bus = 0;
  std::uint32_t id = 0;
  bool extended = false;
  int length_bytes = 8;
  double period_ms = 0;  // while it came
};

inline constexpr const char* kStrangeNode = "babbling node";

class Strange {
 public:
  // The bench must outlive it.
  Strange(const profile::Bench& bench, std::span<const Stranger> heard)
      : bench_(bench), heard_(heard) {}

  bool Any() const { return !heard_.empty(); }
  // One for each identifier, of a prior each.
  std::vector<Hypothesis> Nodes(double prior) const;
  // Does such a node take all of its bus, so that what is less urgent never comes?
  bool FillsBus(const profile::Fault& node) const;
  int Unexplained(std::span<const profile::Fault> faults) const;
  double LogLike(std::span<const profile::Fault> faults) const;
  bool Alike(std::span<const profile::Fault> a, std::span<const profile::Fault> b) const {
    return Unexplained(a) == Unexplained(b);
  }

 private:
  bool Explains(const profile::Fault& fault, const Stranger& stranger) const;

  const profile::Bench& bench_;
  std::span<const Stranger> heard_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_STRANGE_H_
