// SPDX-License-Identifier: Apache-2.0
#include "diagnose/unplayed.h"

#include <algorithm>

namespace drycrank::diagnose {

Unplayed::Unplayed(Predictor& predictor, std::span<const profile::Fault> faults,
                   std::span<const std::size_t> situations)
    : rows(predictor.situations().size()), left_out(rows.size()) {
  const std::vector<bool> none(predictor.value_count(), false);
  Trial trial(predictor, faults);
  for (const std::size_t s : situations) {
    rows[s] = trial.Values(s, &none);
    left_out[s] = trial.left_out();
    any_left_out = any_left_out || std::ranges::count(left_out[s], true) > 0;
  }
}

void Unplayed::LeaveOutOfEither(const Unplayed& other) {
  any_left_out = any_left_out || other.any_left_out;
  if (!any_left_out) return;
  for (std::size_t s = 0; s < left_out.size(); ++s) {
    for (std::size_t v = 0; v < left_out[s].size(); ++v) {
      left_out[s][v] = left_out[s][v] || other.left_out[s][v];
    }
  }
}

void Unplayed::Play(Predictor& predictor, std::span<const profile::Fault> faults, std::size_t s,
                    Unplayed& close_by) {
  Trial trial(predictor, faults);
  rows[s] = trial.Values(s);
  for (std::size_t v = 0; v < std::min(rows[s].size(), close_by.rows[s].size()); ++v) {
    if (left_out[s][v]) close_by.rows[s].Set(v, rows[s][v]);
  }
  left_out[s].assign(left_out[s].size(), false);
}

}  // namespace drycrank::diagnose
