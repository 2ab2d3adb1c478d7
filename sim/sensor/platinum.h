// SPDX-License-Identifier: Apache-2.0
//
// Industrial platinum resistance thermometers (Pt100, Pt1000), IEC 60751:2008, temperatures ITS-90:
//
//   R = R0 (1 + A t + B t^2 + C (t - 100) t^3)    -200 <= t < 0 degC
//   R = R0 (1 + A t + B t^2)                         0 <= t <= 850 degC
//   A = 3.9083e-3 / degC   B = -5.775e-7 / degC^2   C = -4.183e-12 / degC^4
//
// Held at both ends. Older tables (IPTS-68) have other coefficients and differ by up to 0.07 ohm.
#ifndef DRYCRANK_SENSOR_PLATINUM_H_
#define DRYCRANK_SENSOR_PLATINUM_H_

namespace drycrank::sensor {

inline constexpr double kPlatinumMinDegc = -200;
inline constexpr double kPlatinumMaxDegc = 850;

double PlatinumOhm(double r0_ohm, double degc);
double PlatinumDegc(double r0_ohm, double ohm);

}  // namespace drycrank::sensor

#endif  // DRYCRANK_SENSOR_PLATINUM_H_
