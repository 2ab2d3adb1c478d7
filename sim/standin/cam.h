// SPDX-License-Identifier: Apache-2.0
//
// A cam wheel as the decoder knows it: where its active edges should come, and how early they came.
//
//   early = nominal angle - angle at which the edge came,   wrapped to +- half a cycle
//
// Where the edge at a tooth's other end is read too, it tells where the cam is, and the measure of the
// advance stays with the active one.
//
// Two numbers are kept apart. `angle_deg` is the mean over the last edge at each nominal place,
// whatever its size: what is shown. `followed_deg` is that mean as of the last edge that lay in the
// window: where the next edge is expected, so that a cam that is moved slowly stays in its window,
// and one that jumps does not draw the window after it.
#ifndef DRYCRANK_STANDIN_CAM_H_
#define DRYCRANK_STANDIN_CAM_H_

#include <optional>
#include <vector>

#include "profile/bench.h"
#include "types/wheel.h"

namespace drycrank::standin {

class Cam {
 public:
  Cam(const profile::TriggerChannel& channel, double cycle_deg);

  struct Match {
    int edge = -1;  // index of the nominal edge; -1: the wheel has none
    double early_deg = 0;
    double miss_deg = 0;  // |early - followed|
  };
  // The nominal edge nearest to an edge that came at this angle of the cycle; one of the others.
  Match Nearest(double cycle_angle_deg, bool other) const;

  void Measure(const Match& match);              // shows it
  void Follow() { followed_deg_ = angle_deg_; }  // and expects the next there
  void Unfollow() { followed_deg_ = 0; }
  void Reset();  // the engine stopped

  // Is a tooth in front of the sensor at this angle of the cycle? None within so much of its ends.
  std::optional<bool> ToothAt(double cycle_angle_deg, double within_deg) const;
  std::optional<bool> ToothAt(double cycle_angle_deg) const {
    return ToothAt(cycle_angle_deg, window_deg_);
  }

  double angle_deg() const { return angle_deg_; }
  double window_deg() const { return window_deg_; }
  int size() const { return static_cast<int>(nominal_deg_.size() + other_deg_.size()); }

 private:
  double cycle_deg_;
  double window_deg_;
  std::vector<double> nominal_deg_;
  std::vector<double> other_deg_;
  std::vector<Tooth> teeth_;  // crank degrees of the cycle; one that lies across its end has end < begin
  std::vector<double> early_deg_;
  std::vector<bool> measured_;
  double angle_deg_ = 0;
  double followed_deg_ = 0;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_CAM_H_
