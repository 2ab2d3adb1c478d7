// SPDX-License-Identifier: Apache-2.0
//
// What may be off on a healthy bench, each a quantity of its own with one draw for all readings that
// it moves. A column of A (noise.h) is what one deviation of it does to each block:
//
//   supply           dE ~ N(0, (0.6 tolerance_v)^2), and beyond the tolerance dearer (weigh.h)
//   a sensor         offset and gain, each half a per cent of its span
//   weather          pressure that sensors take off or add: N(0, (1.5 kPa)^2), all of them at once
//   cam              half a crank degree for each cam
//   the supply read  0.6 % by the controller's own divider
//   shift            half a per cent of all that the hypothesis moves, one draw: wires and contacts
//                    are not quite as drawn. What is replaced by a fallback is not moved: it is exact
//
// A sensor moves values where it is driven, and what shares a wire with it. Those that it moves in these
// situations, or moves on a healthy bench, are looked at in all others as well, and no more.
//
// Deviations without a source beside them are common practice, no source. A column belongs to a
// hypothesis: a leak to the supply moves with it as a healthy input does not.
#ifndef DRYCRANK_DIAGNOSE_NUISANCE_H_
#define DRYCRANK_DIAGNOSE_NUISANCE_H_

#include <Eigen/Dense>
#include <span>
#include <string>
#include <vector>

#include "diagnose/facts.h"
#include "diagnose/sensitivities.h"

namespace drycrank::diagnose {

// Of a tolerance: +-1 V, evenly spread, has a deviation of 0.58 V.
inline constexpr double kOfTolerance = 0.6;

// What a hypothesis makes of the controller's values in each situation; none where not asked for.
using ValueRows = std::vector<ControllerValues>;

class Nuisances {
 public:
  // Both must outlive it.
  Nuisances(Predictor& predictor, const Facts& facts);

  Eigen::Index count() const { return static_cast<Eigen::Index>(names_.size()); }
  // All columns on top of these faults, of which `rows` is the prediction. A sensor that on a healthy bench
  // moves nothing of what the faults move does what it does there.
  Sensitivities Columns(std::span<const profile::Fault> faults, const ValueRows& rows) const;
  // The first column, that of the first supply, from what the values are with it a little higher.
  void SetSupply(const ValueRows& rows, const ValueRows& higher, Sensitivities& columns) const;
  // The last column, what is not known of a large effect.
  void SetShift(const ValueRows& rows, Sensitivities& columns) const;
  // The fault that makes `higher`; none on a bench without a supply.
  std::vector<profile::Fault> WithSupply(std::span<const profile::Fault> faults) const;

  // The values of these faults in some situations; `wanted` as Trial::Values has it.
  ValueRows ValuesOf(std::span<const profile::Fault> faults,
                     std::span<const std::size_t> situations,
                     const std::vector<bool>* wanted = nullptr) const;
  // Values close by `rows`: what only playing tells is as it is there.
  ValueRows CloseBy(const ValueRows& rows, std::span<const profile::Fault> faults,
                    std::span<const std::size_t> situations) const;
  const std::vector<std::size_t>& everywhere() const { return everywhere_; }

 private:
  struct Push {  // of a deviation, up and down; the smaller effect is a stop that was reached
    std::vector<profile::Fault> up, down;
    double deviations = 1;
    int sensor = -1;  // its gain is the next column
    int column = 0;   // of the kept ones
  };
  using Situations = std::vector<std::size_t>;
  struct Pushed {
    ValueRows up, down;
    Situations in;
  };
  double Moved(const ValueRows& rows, const ValueRows& pushed, const Block& block) const;
  Pushed PushedIn(const Push& push, std::span<const profile::Fault> faults, const ValueRows& rows,
                  const Situations& situations) const;
  bool IsDriven(const Push& push, std::size_t situation) const;
  bool IsMoved(const Prediction& then, const Prediction& now, std::size_t value) const;
  void AddMoved(const ValueRows& rows, const Pushed& pushed, std::vector<bool>& moved) const;
  Situations WhereMoved(const std::vector<bool>& moved, const Situations& but) const;
  void AddColumns(const Push& push, const Pushed& pushed, const ValueRows& rows, int column,
                  std::vector<Sensitivities::Triplet>& triplets) const;
  void AddPush(std::size_t push, std::span<const profile::Fault> faults, const ValueRows& rows,
               std::vector<Sensitivities::Triplet>& triplets) const;
  std::vector<bool> MovedBy(const ValueRows& rows) const;
  bool IsTouched(std::size_t push, const std::vector<bool>& moved) const;
  void AddFixed(const ValueRows& rows, std::vector<Sensitivities::Triplet>& triplets) const;
  void Add(std::size_t block, int column, double moved,
           std::vector<Sensitivities::Triplet>& triplets) const;

  Predictor& predictor_;
  const Facts& facts_;
  std::vector<std::string> names_;  // of columns
  std::vector<Push> pushes_;
  Situations everywhere_, with_blocks_;
  std::vector<std::vector<std::size_t>> blocks_in_;  // each situation's
  std::vector<double> least_common_;                 // of each value's blocks
  // Of each push the values that it moves on a healthy bench; those of a sensor alone.
  std::vector<std::vector<bool>> moves_;
  std::vector<std::vector<Sensitivities::Triplet>> on_healthy_;  // of each push its columns there
  double supply_deviations_ = 1;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_NUISANCE_H_
