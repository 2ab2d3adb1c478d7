// SPDX-License-Identifier: Apache-2.0
//
// Of what may be at either end of a band, at which it was: the output of a Hall sensor conducts or it
// does not, and moves all that it reaches. Which it does is not known, and the odds of each are not; but
// what stands still stays as it stands. Of n times, `a` of them one way:
//
//   p = 1/2 (1/2, where all are one way) + 1/2 a! (n - a)! / (n + 1)!
//
// the latter is the integral of q^a (1 - q)^(n - a) over q. The first value pays for which end it was at
// in each situation, each further one for whether it was at the other's end or at the opposite one: of two
// that one output moves, always or never.
#ifndef DRYCRANK_DIAGNOSE_ENDS_H_
#define DRYCRANK_DIAGNOSE_ENDS_H_

#include <cstddef>
#include <vector>

namespace drycrank::diagnose {

double LogOfEnds(int one_way, int other_way);

class EndsSeen {
 public:
  explicit EndsSeen(std::size_t situations) : first_(situations) {}

  void Clear() { seen_.clear(); }
  bool any() const { return !seen_.empty(); }
  void Add(std::size_t value, std::size_t situation, bool high) {
    seen_.push_back({value, situation, high});
  }
  double LogLike();

 private:
  enum class End : char { kUnknown, kLow, kHigh };
  struct Seen {
    std::size_t value, situation;
    bool high;
  };
  double LogLikeOf(std::size_t first, std::size_t last);

  std::vector<Seen> seen_;
  std::vector<End> first_;  // per situation, of the first value that is there
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_ENDS_H_
