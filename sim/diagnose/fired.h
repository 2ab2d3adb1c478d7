// SPDX-License-Identifier: Apache-2.0
//
// When the controller was seen to fire and to inject, by the degrees of the crank that was driven:
// what no message tells, and what a wrong setting moves alone.
//
//   spark of a cylinder   due = its firing angle - advance + m
//   of its trailing coil  due = the same + how far that is told to be behind
//   end of an injection   due = its firing angle + 360 - injection end + m      (two-stroke: + 0)
//   m                     how far the crank is in front of what the controller takes it for:
//                         a wheel mounted m late; an offset told as m less than it is
//                         where another trigger tells teeth apart that look alike each P degrees: a
//                         wheel mounted d late is late by what is left of d over P, and that trigger by
//                         the whole P in it
//
//   log L = - sum over cylinders of min((seen - due)^2 / 2 deviation^2, 12)
//
// One deviation of a spark is 1 degree, of an injection's end 3 (its length is a time, predicted
// from the last tooth): common practice, no source. A wheel, a sensor or a wire that is wrong
// otherwise may move the crank's edges by up to a tooth: where any cam, the speed or the state
// moves with it, m is free within that, and paid for.
//
// A controller that does not know the position, or has no supply, fires nothing. Nobody has seen a real controller's
// outputs: then there is nothing here, and all of it costs nothing.
//
//   a Hall sensor inverted   the edges that are told come at the other side of each tooth: m is
//                            its width
//   a wheel off its centre   m = runout sin(place of the spark on the wheel - where it is greatest)
//   a disturbed signal       moves them by something else each time: where all came at one angle,
//                            m = 0
#ifndef DRYCRANK_DIAGNOSE_FIRED_H_
#define DRYCRANK_DIAGNOSE_FIRED_H_

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "diagnose/hypothesis.h"
#include "diagnose/nuisance.h"

namespace drycrank::diagnose {

// In one situation, of each cylinder that was seen to: mean crank degrees, [0, cycle).
struct FiredAt {
  std::map<int, double> sparks_deg;      // a coil goes off
  std::map<int, double> trailing_deg;    // a trailing coil goes off
  std::map<int, double> injections_deg;  // an injector goes off
  bool restless = false;                 // some of them came at no steady angle
  double spread_deg = 0;                 // the widest deviation of the others
  bool Any() const {
    return restless || !sparks_deg.empty() || !trailing_deg.empty() || !injections_deg.empty();
  }
};
using FiredSeen = std::vector<FiredAt>;  // one per situation

class Fired {
 public:
  static constexpr double kSparkDeg = 1;  // deviation

  // `seen` may be null: nobody saw. All must outlive it.
  Fired(const Predictor& predictor, const FiredSeen* seen);

  struct Fit {
    double log_like = 0;
    double paid = 0;  // of that, for what was free: not what it leaves open
    int surprises = 0;
    // Of each cylinder's spark in firing order, then of its injection, then of its trailing spark,
    // where the controller is told to fire those; empty: nothing would be due.
    std::vector<double> due_deg;
    bool is_off = false;  // the controller has no supply, whenever it was watched
  };
  // Of what these rows say is synchronised; a row that is none is a controller without its supply.
  Fit Judge(std::span<const profile::Fault> faults, const ValueRows& rows) const;
  double Unknown(const ValueRows& healthy) const;
  bool WereSeen() const { return seen_ != nullptr; }
  bool Explains(const Fit& fit) const;
  // Are all as on a healthy bench?
  bool IsRight(const ValueRows& healthy) const;
  bool Alike(const Fit& a, const Fit& b) const;

  struct Solved {
    Hypothesis hypothesis;  // at its likeliest size
    double log_area = 0;
  };
  // The advance, the firing order, the offset of the primary's wheel or told of it: what would make
  // the angles that were seen. Nothing: no size of it would.
  std::optional<Solved> Solve(const Hypothesis& hypothesis) const;

 private:
  struct Plan {
    std::vector<double> due_deg;  // as Fit has it
    double slack_deg = 0;         // m may be off by so much
    bool by_chance = false;       // and by something else each time
  };
  Plan PlanOf(std::span<const profile::Fault> faults) const;
  bool IsTakenForTheOtherTurn(const profile::Fault& f) const;
  double PositionLateDeg(const profile::Fault& fault) const;
  // d, the way to the next teeth that look alike taken off, or that alone.
  double WholeAlikeDeg(double late_deg) const;
  bool IsOfPlacing(const profile::Fault& fault) const;
  void FindAlike();
  bool MayMoveEdges(const profile::Fault& fault) const;
  bool IsOfThePrimary(const profile::Fault& fault) const;
  double OtherSideDeg() const;
  void Wander(const profile::Fault& fault, Plan& plan) const;
  bool IsSteady() const;
  bool IsFiring(const ControllerValues& row) const;
  bool IsPositionMoved(const ValueRows& rows) const;
  // Of each of the plan's, over the situations in which it was seen: mean of seen - due; NaN:
  // never.
  std::vector<double> Late(const Plan& plan, const ValueRows& rows) const;
  int Contradicted(const ValueRows& rows) const;
  std::vector<int> OrderSeen() const;
  std::optional<Solved> SolveOrder(const Hypothesis& hypothesis) const;
  // By the sparks of one plug; the first of them among those of a plan.
  struct Plugs {
    std::map<int, double> FiredAt::*seen = &FiredAt::sparks_deg;
    std::size_t first = 0;
  };
  std::optional<Solved> SolveShift(const Hypothesis& hypothesis, double sign,
                                   const Plugs& plugs) const;

  const profile::Bench& bench_;
  const FiredSeen* seen_;
  double cycle_deg_ = 720, pitch_deg_ = 0;
  double alike_deg_ = 0, window_deg_ = 0;  // 0: the primary's wheel alone tells the place in a turn
  std::vector<std::string> placing_;       // channels that do, and their triggers
  std::size_t sync_ = 0;                   // index of the value
  std::vector<std::size_t> position_;      // of what tells of the position
  const ValueRows& healthy_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_FIRED_H_
