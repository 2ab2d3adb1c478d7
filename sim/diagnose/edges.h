// SPDX-License-Identifier: Apache-2.0
//
// How likely are the edges that the trigger inputs saw (edges_seen.h), were this so? What no
// message tells of a wheel, and what cam_edges judges (check/cam_edges.cc): the crank wheel by its
// pattern alone, since nobody knows where it stands; each cam by its degrees against the crank
// wheel as seen, and the turn of the cycle is free as well.
//
//   a wheel   edges where plant/sources.h has them: late, a tooth gone, inverted, a phaser that
//             stays; an eccentric wheel's come early and late by turns; disturbed ones come and
//             go, and where they are off alike in n cycles pay up to 4 (n - 1); a slow phaser's
//             come late by anything between two steps
//   a wire    edges as on the healthy bench, none, those of another wheel, of a coil its other
//             ones; or anything: where speed, state or cams do as this fault makes them, paid for
//   the rest  as on the healthy bench
//
//   log L = - max over situations of min(turns; sum over wheels of
//             min(12 (missing + extra + restless) + min(worst^2 / 2 deviation^2, 24), 36))
//
// The same wheel is seen in each situation: it speaks once. One deviation is half a degree: what an
// oscilloscope of ours tells, and how well a wheel is cut and fitted; common practice, no source.
#ifndef DRYCRANK_DIAGNOSE_EDGES_H_
#define DRYCRANK_DIAGNOSE_EDGES_H_

#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "check/edge_places.h"
#include "check/wheel_fit.h"
#include "diagnose/edges_seen.h"
#include "diagnose/hypothesis.h"
#include "diagnose/nuisance.h"
#include "diagnose/slow_cam.h"

namespace drycrank::diagnose {

class Edges {
 public:
  static constexpr double kDeviationDeg = 0.5;
  static constexpr double kNoticed = 3;  // nats: less is what a wheel and its sensor do

  // `seen` may be null or empty: nobody saw. All must outlive it.
  Edges(const Predictor& predictor, const EdgesSeen* seen);

  struct Fit {
    double log_like = 0;
    int surprises = 0;
  };
  Fit Judge(std::span<const profile::Fault> faults, const ValueRows& rows) const;
  double Unknown() const;
  bool WereSeen() const { return !moments_.empty(); }
  bool Explains(const Fit& fit) const;
  // Are all as on a healthy bench?
  bool IsRight() const;
  bool Alike(const Fit& a, const Fit& b) const;

  struct Solved {
    Hypothesis hypothesis;  // at a size that is not sought any more
    double log_area = 0;
  };
  // What of this suspect would make the edges that were seen, and a healthy bench would not: sizes,
  // or which tooth.
  std::vector<Solved> Solve(const Hypothesis& suspect) const;
  // Of a tooth that is gone: its value is which, where no other would do.
  void NameTooth(Hypothesis& hypothesis) const;

 private:
  struct Wheel {
    int input = -1;         // trigger channel of the controller
    int trigger = -1;       // of the bench
    int level = -1;         // of a coil: that of the edges which have a place; -1: both
    bool reversed = false;  // its leads, as drawn
    double cycle_deg = 720, period_deg = 720;
  };
  // How one input's edges were seen in one situation.
  struct Seen {
    std::vector<check::SeenEdge> edges;
    std::vector<check::SeenEdge> steady;  // of those, at one place in each cycle
    double cycles = 0;
    bool restless = false;
  };
  // What is due at each wheel by these faults; where no fault is, as on the healthy bench.
  struct Way {
    bool disturbed = false;
    std::optional<AdvanceRange> moving = {};  // late by anything in it
  };
  struct Due {
    std::vector<std::optional<check::WheelFit>> own;
    std::vector<Way> ways;
  };
  struct Moment {
    std::size_t situation = 0;
    std::vector<Seen> seen;            // per wheel, as is the next
    std::vector<check::WheelFit> due;  // on the healthy bench
    check::Fit crank;                  // there
    double healthy = 0;                // cost
    double wired = 0;                  // the least that a wire can make of it
  };

  std::optional<Wheel> WheelAt(int input) const;
  static Seen SeenAt(const Wheel& wheel, const InputSeen& input);
  void AddMoment(std::size_t situation, const EdgesAt& at);
  // `other_way`: of a coil, its leads.
  check::WheelFit DueAt(const Wheel& wheel, std::span<const profile::Fault> faults,
                        std::size_t situation, bool other_way = false) const;
  double WheelCost(const Moment& moment, const Due& due, std::size_t wheel, const check::Fit& fit,
                   double off_deg) const;
  double DisturbedCost(const Moment& moment, std::size_t wheel, const check::Fit& fit) const;
  double CostIn(const Moment& moment, const Due& due) const;
  double TurnedCost(const Moment& moment, const Due& due, double crank_deg) const;
  double WiredCost(const Moment& moment) const;
  std::pair<check::Fit, double> OtherWay(const Moment& moment) const;  // and its cost
  double WiredAt(const Moment& moment, std::size_t wheel, double turned_deg) const;
  Way WayOf(const profile::Fault& fault, std::size_t wheel, std::size_t situation) const;
  double CostOf(std::span<const profile::Fault> faults, const Moment& moment) const;
  double MostCost(std::span<const profile::Fault> faults) const;
  const Moment* Worst() const;
  int WheelOf(const profile::Fault& fault) const;
  bool IsPositionMoved(const ValueRows& rows, std::size_t situation) const;
  std::vector<double> LateAt(const Moment& moment, std::size_t wheel) const;
  void Take(const Hypothesis& sized, double log_area, std::vector<Solved>& solved) const;
  void SolveOffset(const Hypothesis& suspect, std::size_t wheel, std::vector<Solved>& solved) const;
  void SolveStuck(const Hypothesis& suspect, std::size_t wheel, std::vector<Solved>& solved) const;
  std::vector<int> TeethThatFit(const profile::Fault& gone, std::size_t wheel) const;
  void SolveRunout(const Hypothesis& suspect, std::vector<Solved>& solved) const;
  void SolveTooth(const Hypothesis& suspect, std::size_t wheel, std::vector<Solved>& solved) const;

  const profile::Bench& bench_;
  const std::vector<Situation>& situations_;
  const ValueRows& healthy_;
  std::vector<std::size_t> position_;  // values that tell of it
  std::vector<Wheel> wheels_;          // the crank's first
  std::vector<Moment> moments_;
  double longest_deg_ = 720;  // after which all wheels are where they were
  double healthy_cost_ = 0;   // the most of all moments
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_EDGES_H_
