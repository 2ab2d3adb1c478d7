// SPDX-License-Identifier: Apache-2.0
//
// What must fit between the keys of a sound card, and between them and the bench.
#ifndef DRYCRANK_PROFILE_LOAD_SOUND_H_
#define DRYCRANK_PROFILE_LOAD_SOUND_H_

#include "profile/load_bench.h"
#include "profile/output_device.h"

namespace drycrank::profile {

// Fills in most_v where it was left out.
void CheckSound(BenchContext& c, out::Sound& sound);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_LOAD_SOUND_H_
