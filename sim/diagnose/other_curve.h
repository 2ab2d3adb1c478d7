// SPDX-License-Identifier: Apache-2.0
//
// A part that fits the plug and has another curve, from what was read of it:
//
//   thermistor   ln R = a + b (1 / T - 1 / 298.15 K)     a, b by least squares over its settings; one
//                                                        setting alone: b as drawn
//   platinum     R = k R as drawn                        k, the mean of its logarithm
//   ratiometric  value = low + k (x - low)               k by least squares
//
// At a setting it is what the drawn part is at another value of the quantity; beyond its ends, with
// ohms in series or in parallel: faults that last for the steps with that setting.
#ifndef DRYCRANK_DIAGNOSE_OTHER_CURVE_H_
#define DRYCRANK_DIAGNOSE_OTHER_CURVE_H_

#include <optional>
#include <vector>

#include "diagnose/facts.h"
#include "diagnose/predict.h"

namespace drycrank::diagnose {

struct OtherCurve {
  std::vector<double> at;                           // value of the quantity in each situation
  std::vector<std::vector<profile::Fault>> faults;  // there
  double log_area = 0;                              // what its free sizes cost
};

// Nothing: the kind of sensor has one curve, or nothing was read of it.
std::optional<OtherCurve> OtherCurveOf(Predictor& predictor, const Facts& facts,
                                       const profile::Sensor& sensor);

// The same as one list: each setting's faults `during` the steps that have it.
std::vector<profile::Fault> Lasting(const OtherCurve& other,
                                    const std::vector<Situation>& situations);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_OTHER_CURVE_H_
