// SPDX-License-Identifier: Apache-2.0
//
// A crank that turns by hand before a controller: the waves of Hall and variable-reluctance
// sensors, worked out here and not with any code of the simulator.
//
//   time at crank angle a, steady:   t = t0 + (a - a0) / (6 rpm) s       (a turn is 60/rpm s)
//   cranking with ripple r:          6 rpm t = a + r/k sin(k a),  k = 360 / firing interval;
//                                    1/speed swings by +-r around its mean
#ifndef DRYCRANK_TESTS_STANDIN_RIG_H_
#define DRYCRANK_TESTS_STANDIN_RIG_H_

#include <functional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "profile/bench.h"
#include "standin/controller.h"

namespace drycrank::standin {

// `slots` places, `absent` of them (1-based) without tooth; teeth half a pitch wide.
profile::Wheel EvenWheel(int slots, const std::vector<int>& absent = {});
// One tooth or vane per pair.
profile::Wheel WheelOf(std::vector<Tooth> teeth);

// Inline four, 1-3-4-2 (tests/reference/crank_cam.yaml), with the crank wheel at offset 0 and the
// falling edge at each tooth's begin; a cam with one tooth at 100..110 degrees of its own, so that
// its falling edge comes at 200 crank degrees of 720.
profile::Bench FourCylinder(const profile::Wheel& crank_wheel);
// A single-cylinder two-stroke without cam.
profile::Bench TwoStroke(const profile::Wheel& crank_wheel);

// The same with a pin on the crank beside it, whose falling edge comes at 56 degrees: of 60 even
// teeth 2 degrees after the tenth begins. The decoder's others in this order: 1 the cam, 2 the pin.
profile::Bench WithPin(const profile::Wheel& crank_wheel, const std::vector<int>& order);

class Rig {
 public:
  struct Piece {
    int input = 0;
    Wave wave;
  };
  // What stands on the shafts; starts as what the controller has been told.
  struct Shaft {
    bool cam = false;
    profile::Wheel wheel;
    double offset_deg = 0;
    double advance_deg = 0;
    bool fitted = true;
    bool coil = false;  // variable reluctance, peak_v at any speed
    double peak_v = 5;
    bool inverted = false;  // Hall: low and high swapped; coil: leads swapped
  };

  explicit Rig(profile::Bench bench, double start_deg = 0);
  Rig(const Rig&) = delete;
  Rig& operator=(const Rig&) = delete;

  // Turns the crank by so many degrees.
  void Turn(double deg, double rpm);
  void TurnWithRipple(double deg, double rpm, double ripple, double firing_deg = 180);
  void Turns(double turns, double rpm) { Turn(360 * turns, rpm); }
  // Constant acceleration from one speed to the other, 0 allowed at one end.
  void Ramp(double deg, double from_rpm, double to_rpm);
  // Stands still.
  void Wait(double ms);
  void Sample(double supply_v);

  // Degrees turned until `state`, at most so many turns; -1 if it never comes.
  double DegreesUntil(SyncState state, double turns, double rpm);

  double Value(std::string_view name) const;
  SyncState state() const { return controller.sync_state(); }
  SyncReason reason() const { return controller.sync_reason(); }
  double angle_deg() const { return angle_deg_; }
  TimeNs now_ns() const { return now_ns_; }

  profile::Bench bench;
  Controller controller;
  std::vector<Shaft> shafts;
  // Changes the pieces of the next Turn only; called before they are put in time order.
  std::function<void(std::vector<Piece>&)> spoil;
  std::vector<OutputEvent> events;  // all so far
  std::vector<Edge> edges;

 private:
  using TimeAt = std::function<TimeNs(double)>;
  void FirstLevels();
  void Play(double to_deg, const TimeAt& time_at);
  void AddHall(int input, double to_deg, const TimeAt& time_at, std::vector<Piece>& pieces) const;
  void AddCoil(int input, double to_deg, const TimeAt& time_at, std::vector<Piece>& pieces) const;
  std::vector<std::pair<double, bool>> EdgesBetween(const Shaft& shaft, double from_deg,
                                                    double to_deg) const;
  void Collect();

  bool started_ = false;
  double angle_deg_ = 0;
  TimeNs now_ns_ = 0;
};

// Cylinder and crank degrees of all sparks, [0, 720), at a steady speed that began at time 0 at
// `start_deg`.
std::multiset<std::pair<int, int>> SparksAt(const Rig& rig, double start_deg, double rpm);

}  // namespace drycrank::standin

#endif  // DRYCRANK_TESTS_STANDIN_RIG_H_
