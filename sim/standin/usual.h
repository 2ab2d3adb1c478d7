// SPDX-License-Identifier: Apache-2.0
//
// Is this interval what it was when the wheel came to this place the last time? A gap with a tooth
// more gone beside it, and an edge of noise a little before the one that is due, lie within the
// tolerance of a ratio; the same place a cycle ago tells them.
//
//   doubted   against a cycle ago and against the wheel as told, the ratio is nearer to one tooth
//             more or fewer in the interval than to none, or off by more than the square root of
//             what is tolerated. Both: when cranking ends, its ripple does, too
//   cleared   by the edge after it: what the two intervals around it make of it is off by less
//             than that (shorter than usual: than the square root of that). A speed that changes
//             does so on both sides; a tooth does not
//
// It serves a decoder with a pin: what stays doubted is for the pin to say.
#ifndef DRYCRANK_STANDIN_USUAL_H_
#define DRYCRANK_STANDIN_USUAL_H_

#include <array>
#include <vector>

#include "standin/pattern.h"

namespace drycrank::standin {

class Usual {
 public:
  Usual(const Pattern& crank, double ratio_tolerance);

  enum class Verdict { kAsUsual, kDoubted, kCleared, kNotCleared };
  // The interval before this place; `ratio`: to the one before it, `told`: as it is on the wheel.
  Verdict OnInterval(int place, double interval_ns, double ratio, double told);
  bool doubts() const { return doubted_ >= 0; }
  bool longer() const { return longer_; }  // the one doubted last: than it was
  void Forget();

 private:
  std::vector<double> interval_deg_;
  double tooth_deg_, widest_;
  std::vector<double> ratio_;      // a cycle ago; 0: not known
  std::array<double, 2> speed_{};  // 1/ns of the two intervals before, in degrees
  int doubted_ = -1;               // place
  double doubted_ratio_ = 0;
  bool longer_ = false;

  double Widest(int place, bool longer) const;
  bool IsNear(int place, double factor) const;
  bool Clears(double speed) const;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_USUAL_H_
