// SPDX-License-Identifier: Apache-2.0
//
// What all channels of a bench's outputs have (output_device.h): in whose place they stand.
#ifndef DRYCRANK_PROFILE_OUTPUT_CHANNEL_H_
#define DRYCRANK_PROFILE_OUTPUT_CHANNEL_H_

#include <string>

#include "types/diagnostic.h"

namespace drycrank::profile {

struct OutputChannel {
  enum class Of { kTrigger, kSensor, kSupply };
  Of of = Of::kTrigger;
  int index = -1;  // in the bench's list of those
  std::string name;
  Place place;
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_OUTPUT_CHANNEL_H_
