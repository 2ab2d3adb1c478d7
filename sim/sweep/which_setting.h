// SPDX-License-Identifier: Apache-2.0
//
// Which setting of the display is it? Every single edit (edits.h) of what the bench says is set in
// it is tried on the inputs of the sweep; what explains all that was shown, of every readout, is
// named. The order is that of how often people mistype; two that show the same are both listed.
#ifndef DRYCRANK_SWEEP_WHICH_SETTING_H_
#define DRYCRANK_SWEEP_WHICH_SETTING_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "sweep/edits.h"

namespace drycrank::sweep {

struct Explained {
  std::vector<std::string> differing;  // readouts that show something else than is set
  std::vector<Edit> by;                // each explains all of it; empty: no single edit does
  std::size_t tried = 0;
};

// REQUIRES: bench.display. `showed` is a sweep of the bench's readouts.
Explained WhichSetting(const profile::Bench& bench, const WhatItShowed& showed);

// Sweeps the stand-in set as the bench's display is.
WhatItShowed SweepStandin(const profile::Bench& bench, std::uint64_t seed,
                          bool seen_by_echo = false, bool with_switching_on = true,
                          const std::vector<std::string>& smoothed = {});

inline constexpr char kByStandin[] = "stand-in", kByEcho[] = "echo on the bus",
                      kByPerson[] = "a person", kByPictures[] = "pictures";

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_WHICH_SETTING_H_
