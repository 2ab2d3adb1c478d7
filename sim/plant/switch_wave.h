// SPDX-License-Identifier: Apache-2.0
//
// A Hall sensor's output as it is told at the sensor (WaveSink::OnEmf): 1 while it conducts, else 0.
#ifndef DRYCRANK_PLANT_SWITCH_WAVE_H_
#define DRYCRANK_PLANT_SWITCH_WAVE_H_

#include "types/wave.h"

namespace drycrank::plant {

inline Wave SwitchWave(bool conducts, TimeNs t_ns) {
  const double value = conducts ? 1 : 0;
  return {t_ns, kNever, value, value, 0};
}

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_SWITCH_WAVE_H_
