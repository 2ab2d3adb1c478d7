// SPDX-License-Identifier: Apache-2.0
//
// What a set of faults makes of the controller's values in some situations, as far as nothing has to be
// played for it; then, one situation after the other, what playing tells.
#ifndef DRYCRANK_DIAGNOSE_UNPLAYED_H_
#define DRYCRANK_DIAGNOSE_UNPLAYED_H_

#include <span>
#include <vector>

#include "diagnose/nuisance.h"

namespace drycrank::diagnose {

struct Unplayed {
  ValueRows rows;                           // of what is left out, the healthy bench's
  std::vector<std::vector<bool>> left_out;  // per situation and value
  bool any_left_out = false;

  Unplayed(Predictor& predictor, std::span<const profile::Fault> faults,
           std::span<const std::size_t> situations);

  void LeaveOutOfEither(const Unplayed& other);
  // One situation as it is; what is close by has that of it which only playing tells.
  void Play(Predictor& predictor, std::span<const profile::Fault> faults, std::size_t s,
            Unplayed& close_by);
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_UNPLAYED_H_
