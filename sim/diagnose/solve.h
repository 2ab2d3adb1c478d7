// SPDX-License-Identifier: Apache-2.0
//
// The size of a fault, solved, and the evidence for the fault whatever its size:
//
//   evidence = integral L(x) p(x) dx      p flat over the range, in log R where it is a resistance
//
// 13 points over the range first. Between two of them a reading passes what was seen of it: there
// the size is solved from that reading (regula falsi, Illinois), since every reading is
// (a + b R) / (c + d R) of one R, and a thousandth of it decides; where an input leaves its range
// between them, up to there. All that is read may be likely at several sizes, one for each few codes that
// are right: of ohms those that give what surprises most at the likeliest are looked at too. Then
// parabolas through log L of all that was read. The integral is by trapezoids over all points seen, so that a size which must
// be exact pays log(range / width), 4 to 6 nats (MacKay, Bayesian interpolation, Neural Computation
// 4, 1992). What a few situations cannot tell apart all of them may: of a short each size that was as
// likely at the first look is looked at again, and the plain short is named where it is no less likely.
//
// At first a few situations alone are looked at: those in which the base (a healthy bench; or one
// with a fault already, for two at once) surprises most. A fault that moves none of the facts that
// surprise most explains nothing; no other is given up before its size was solved there. What turns is
// played, and that is dear: only as long as a size can still come near the best (weigh.h, AtMost). Nor is a
// size weighed that cannot, by the codes and numbers alone that it gets wrong (LeastLost).
#ifndef DRYCRANK_DIAGNOSE_SOLVE_H_
#define DRYCRANK_DIAGNOSE_SOLVE_H_

#include <Eigen/Dense>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "diagnose/hypothesis.h"
#include "diagnose/weigh.h"

namespace drycrank::diagnose {

class DisplayHeard;
struct Unplayed;

// A hypothesis at its likeliest size.
struct Fit {
  Hypothesis hypothesis;
  ValueRows rows;
  std::set<std::string> missing;  // messages
  double log_like = 0;            // at that size, without what the display tells
  double log_area = 0;            // of the integral over sizes, over that; 0 of what has none
  double step = 0;                // to the next point, for what comes after
  std::vector<double> as_likely = {};  // other sizes that are, nearly, on its scale
  double x_low = 0, x_high = 0;        // the sizes about the likeliest that are, on its scale
  int glitches = 0;
  Eigen::VectorXd shared;

  double log_evidence() const { return log_like + log_area; }
};

class Solver {
 public:
  // All must outlive it.
  Solver(Predictor& predictor, const Facts& facts, const Nuisances& nuisances,
         const Weigher& weigher);
  // On top of other faults, of which these are the rows and the sensitivities.
  Solver(const Solver& healthy, std::vector<profile::Fault> base, ValueRows rows,
         Sensitivities columns);

  // A size is also chosen by what came of the display, and how it looked. It must outlive this.
  void ListenTo(const DisplayHeard& display) { display_ = &display; }

  // By the situations of the first look; nothing: it moves none of what surprises most, or is not as
  // likely as `least`, whatever its size.
  std::optional<Fit> FirstLook(const Hypothesis& hypothesis, double least = -1e300) const;
  // By all of them, from a first look; `columns`: sensitivities, of which the supply's are made anew.
  // False: it is not as likely as `least`, and what `fit` holds is of no use.
  bool Finish(Fit& fit, const Sensitivities& columns, int rounds, double least = -1e300) const;

  // The same for one whose first look was that of `mate`, which is finished: both are as likely, by all
  // situations, at the size of `mate`. False: they are not; `fit` is as it was.
  bool FinishAs(const Fit& mate, const Sensitivities& columns, Fit& fit) const;

  // Does it move any of the facts that surprise most?
  bool MovesAKey(const Hypothesis& hypothesis) const;
  const Sensitivities& columns() const { return columns_; }
  const ValueRows& rows() const { return rows_; }

 private:
  using Situations = std::span<const std::size_t>;
  struct Point {
    double x = 0, log_like = 0;
    ValueRows rows;
    bool screened = false;  // log_like is a bound alone, below what was asked for
    int glitches = 0;
    Eigen::VectorXd shared;
    double heard = 0;  // of log_like, what the display tells
  };
  // How likely a hypothesis could be, were each number that it moves just as seen. Found anew when a size
  // moves more than those before.
  struct Ceiling {
    std::vector<std::vector<bool>> moved;  // per situation and value
    double log_like = 0;
    bool is_found = false, is_none = false;  // none: the base is silent somewhere
  };
  void ChooseSituations();
  bool IsKeyMovedTo(const ControllerValues& row, std::size_t situation) const;
  void Widen(const Unplayed& now, Situations situations, Ceiling& ceiling) const;
  double HeightOf(Ceiling& ceiling, Situations situations, const Sensitivities& columns) const;
  double AtMostAt(const Unplayed& now, Situations situations, const Sensitivities& columns,
                  Ceiling& ceiling) const;
  bool CouldReach(const Hypothesis& hypothesis, double least, Ceiling& ceiling) const;
  Point At(const Hypothesis& hypothesis, double x, Situations situations,
           const Sensitivities& columns) const;
  // Of a hypothesis with its size, what it predicts, and predicts with the supply a little higher.
  Point Weigh(const Hypothesis& sized, double x, ValueRows rows, const ValueRows& higher,
              Situations situations, const Sensitivities& columns) const;
  // The same as At; of a point that is not as likely as `least`, a bound that is below it too, with less
  // played; and, with a ceiling, nothing weighed.
  Point Near(const Hypothesis& hypothesis, double x, Situations situations,
             const Sensitivities& columns, double least, Ceiling* ceiling = nullptr) const;
  void Become(const Hypothesis& hypothesis, Point& best, Fit& fit) const;
  // REQUIRES: sorted by size.
  static void NoteAsLikely(std::span<const Point> points, std::size_t best, double within, Fit& fit);
  void FindEnds(const Hypothesis& hypothesis, const Sensitivities& columns, double least,
                Ceiling& ceiling, std::vector<Point>& points) const;
  static std::size_t BestOf(const Hypothesis& hypothesis, std::span<const Point> points);
  Hypothesis Sized(const Hypothesis& hypothesis, double x) const;
  std::vector<profile::Fault> FaultsOf(const Hypothesis& hypothesis) const;
  // Messages that do not come, and how the display looks (unheard.h).
  std::set<std::string> MissingWith(std::span<const profile::Fault> faults) const;
  double LogLikeOfDisplay(const std::set<std::string>& missing) const;
  bool ChangesNothing(const ValueRows& rows, Situations situations) const;
  void Between(const Hypothesis& hypothesis, const Point& a, const Point& b, double least,
               Ceiling& ceiling, std::vector<Point>& points) const;
  // A number that was seen, and what must be asked for to know it.
  struct Target {
    const Fact& fact;
    double code;  // the fault code that was seen beside it
    std::vector<bool> wanted;
  };
  // It at a size: what it is predicted off by, as long as its input is read as it was seen to be; else
  // what is said instead.
  struct TargetAt {
    double x = 0, off = 0, code = 0;
    bool is_read = false;
  };
  std::optional<Target> TargetOf(std::size_t fact) const;
  TargetAt At(const Target& target, double x, const ValueRows& rows) const;
  TargetAt At(const Target& target, const Hypothesis& hypothesis, double x) const;
  std::optional<double> SizeOf(const Target& target, const Hypothesis& hypothesis, TargetAt a,
                               TargetAt b) const;
  std::optional<double> SizeWhereRead(const Target& target, const Hypothesis& hypothesis,
                                      TargetAt read, TargetAt not_read) const;
  double Falsi(const Target& target, const Hypothesis& hypothesis, TargetAt a, TargetAt b) const;
  // Sizes that give what surprises most of all that was read at the likeliest of these.
  void BySurprise(const Hypothesis& hypothesis, const Sensitivities& columns, double least,
                  Ceiling& ceiling, std::vector<Point>& points) const;
  std::optional<Target> MostSurprising(const ValueRows& rows, const Sensitivities& columns,
                                       const Ceiling& ceiling) const;
  void ClimbBy(const Hypothesis& hypothesis, Situations situations, const Sensitivities& columns,
               int rounds, double least, Ceiling& ceiling, std::vector<Point>& points) const;

  Predictor& predictor_;
  const Facts& facts_;
  const Nuisances& nuisances_;
  const Weigher& weigher_;
  const DisplayHeard* display_ = nullptr;
  std::vector<profile::Fault> base_;
  ValueRows rows_;  // of the base
  Sensitivities columns_;
  std::vector<std::size_t> first_;  // situations
  std::vector<std::size_t> key_;    // facts that surprise most, each of another channel
  std::vector<std::size_t> key_situations_;
  std::vector<double> codes_;       // fault codes that were seen, per situation and value
  std::vector<bool> key_values_;    // of the controller's values, those of the key facts
};

inline constexpr double kNearly = 2;  // nats: as likely
// Less likely than that is nothing; what asks for more than this asks for a bound.
inline constexpr double kNever = -1e299;

// log of the integral of exp(log L) over [low, high], over its length and over the largest L.
double LogArea(std::vector<std::pair<double, double>> points, double low, double high);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_SOLVE_H_
