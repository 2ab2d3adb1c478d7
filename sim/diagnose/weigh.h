// SPDX-License-Identifier: Apache-2.0
//
// How likely is all that was read, were this so?
//
//   log L = log N(numbers; prediction, errors of noise.h) + sum of states + sum of glitches
//
//   a number   value: as noise.h has it, the error of its block at least a thousandth of the shift
//              from healthy; of a band half its width, once for its block, or an end of it where it is near
//              one (ends.h), the two as likely; what comes and goes: own error of width / sqrt 12, so that
//              "anything would fit" is paid for
//   a state    equal: 0. Of what comes and goes among m states: -log m
//   a glitch   a state that differs, a number that is farther off than e^-12 allows, a reading that
//              came where none should or did not: -12, and of a number 1 / span as its density
//
// Glitches count each time: the same one thirty times is no glitch.
//
// Most faults move a few of many values. What the facts of a value come to as long as it is as on the
// healthy bench in all situations is summed once: the sums over its blocks (noise.h), which no other
// value shares, and its states. A fault is then weighed by the facts of the values that it moves:
//
//   sums = sum over values that are not moved of Whole + sum over facts of those that are
//
// A value of which a number is no glitch only thanks to what A is there has no such sum.
#ifndef DRYCRANK_DIAGNOSE_WEIGH_H_
#define DRYCRANK_DIAGNOSE_WEIGH_H_

#include <Eigen/Dense>
#include <cstdint>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "diagnose/ends.h"
#include "diagnose/facts.h"
#include "diagnose/noise.h"
#include "diagnose/nuisance.h"

namespace drycrank::diagnose {

struct Unplayed;

inline constexpr double kGlitch = 12;

struct Weighed {
  double log_like = 0;
  int glitches = 0;
  Eigen::VectorXd shared;  // the likeliest shares of A's columns
};

class Weigher {
 public:
  // All must outlive it.
  Weigher(const Predictor& predictor, const Facts& facts);

  // Of these situations' facts alone.
  Weighed Weigh(const ValueRows& rows, const Sensitivities& columns,
                std::span<const std::size_t> situations,
                const std::set<std::string>* missing = nullptr) const;
  // At most that, when some values of each situation are left out of the rows: each number among
  // them at the peak of its own density.
  double AtMost(const ValueRows& rows, const Sensitivities& columns,
                std::span<const std::size_t> situations, const std::set<std::string>* missing,
                const std::vector<std::vector<bool>>& left_out) const;
  // What these rows cost at least, over AtMost of `base` with what is `moved` left out: fault codes
  // that are wrong, and numbers that no error accounts for.
  double LeastLost(const Unplayed& now, const ValueRows& base, const Sensitivities& columns,
                   std::span<const std::size_t> situations,
                   const std::vector<std::vector<bool>>& moved) const;
  // What the truth could be expected to give, had it these sensitivities: each state as predicted,
  // numbers off by what noise does to those that `rows` do not replace by a fallback.
  double Expected(const ValueRows& rows, const Sensitivities& columns,
                  std::span<const std::size_t> situations) const;
  // Facts that are still farther off than kSurprisingZ with the likeliest shared errors, by what a
  // healthy reading may be off as well: what a person would call surprising.
  int Surprises(const ValueRows& rows, const Sensitivities& columns, const Eigen::VectorXd& shared,
                const std::set<std::string>* missing = nullptr) const;
  // What a fact costs by itself, its errors taken as independent; for choosing where to look.
  double CostAlone(const Fact& fact, const ValueRows& rows, const Sensitivities& columns) const;
  // Could either be taken for the other by these readings? d'S^-1 d < most_chi2, and no state
  // between them.
  bool Alike(const ValueRows& a, const ValueRows& b, const Sensitivities& columns, double most_chi2,
             const std::set<std::string>* missing_a = nullptr,
             const std::set<std::string>* missing_b = nullptr) const;
  // Of each situation, by how much CostAlone of its facts falls from the rows `without` to these.
  std::vector<double> GainOf(const ValueRows& rows, const ValueRows& without,
                             const Sensitivities& columns) const;

 private:
  struct Sums {
    BlockSums& blocks;
    double log_like = 0;
    int glitches = 0;
  };
  // A fact, and what it is by the healthy bench, as most facts are by any fault: reckoned once. A
  // copy, since a situation's facts lie far apart among all of them, and are gone through for each
  // size.
  struct Known {
    std::size_t number = 0;  // among all
    Fact fact;
    Prediction healthy = {};
    bool is_number = false;    // by the healthy bench
    double cost_of_state = 0;  // there, of what is no number
    bool glitch = false;
  };
  // The facts of one value, and what they come to where it is as on the healthy bench.
  struct Whole {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> facts;  // of_situation_[first][second]
    std::vector<std::pair<Eigen::Index, BlockSums::Sum>> blocks;
    double log_like = 0;
    int glitches = 0;
    bool is_certain = true;
  };
  void SumWholes();
  void AddToWhole(const Known& known);
  bool FindMoved(const ValueRows& rows, const ValueRows& from) const;
  bool AddLeftOut(const std::vector<std::vector<bool>>& left_out) const;
  bool AreFew() const;
  bool IsByValues(const ValueRows& rows, std::span<const std::size_t> situations,
                  const std::set<std::string>* missing) const;
  template <class OfFact>
  void TakeByValues(Sums& sums, const OfFact& take) const;
  Sums NoSums() const;
  Known KnownOf(std::size_t fact) const;
  void TakeFrom(const ValueRows& rows, const Known& known, const Sensitivities& columns,
                const std::set<std::string>* missing, Sums& sums) const;
  Weighed WeighOnce(const ValueRows& rows, const Sensitivities& columns,
                    std::span<const std::size_t> situations,
                    const std::set<std::string>* missing) const;
  void Take(const Fact& fact, const Prediction& predicted, double shift,
            const Sensitivities& columns, Sums& sums) const;
  double LeastLostBy(const Fact& fact, const ValueRows& rows, const ValueRows& base,
                     const Sensitivities& columns) const;
  static double CostOfSupply(const Eigen::VectorXd& shared);
  static double CostOfState(const Fact& fact, const Prediction& predicted, bool& glitch);
  double CostByItself(const Fact& fact, const Prediction& predicted, double variance) const;
  bool IsReplaced(const ValueRows& rows, const Fact& fact) const;
  double ShiftOf(const ValueRows& rows, const Fact& fact, const Prediction& predicted) const;

  const Predictor& predictor_;
  const Facts& facts_;
  std::vector<std::vector<Known>> of_situation_;  // facts
  std::vector<double> healthy_;                   // per fact; NaN: none
  std::vector<Whole> wholes_;                     // per value
  mutable std::vector<char> moved_;               // scratch: per value
  mutable EndsSeen ends_;                         // scratch
  mutable bool at_ends_ = true;                   // of bands: are they, where they are near one?
  mutable BlockSums sums_, other_;                // scratch
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_WEIGH_H_
