// SPDX-License-Identifier: Apache-2.0
//
// Type K thermocouple, NIST Monograph 175 (1993), ITS-90; reference junction at 0 degC, E in mV:
//
//   E = sum c_i t^i                                    -270 <= t < 0 degC
//   E = sum c_i t^i + a0 exp(a1 (t - a2)^2)               0 <= t <= 1372 degC
//
// The exponential term belongs to the definition: without it 0 degC gives -0.0176 mV. The inverse
// starts from the published inverse polynomials (good to 0.06 K, -200 degC and up) and is refined
// on the direct function, so that there and back agree to rounding. Held at both ends.
//
// A thermocouple with its leads ending at a cold junction at t0 gives E(t) - E(t0).
#ifndef DRYCRANK_SENSOR_TYPE_K_H_
#define DRYCRANK_SENSOR_TYPE_K_H_

namespace drycrank::sensor {

inline constexpr double kTypeKMinDegc = -270;
inline constexpr double kTypeKMaxDegc = 1372;

double TypeKMillivolt(double degc);
double TypeKDegc(double millivolt);

}  // namespace drycrank::sensor

#endif  // DRYCRANK_SENSOR_TYPE_K_H_
