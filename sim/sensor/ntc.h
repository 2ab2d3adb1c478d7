// SPDX-License-Identifier: Apache-2.0
//
// Thermistors whose resistance falls with temperature: degC <-> ohm, three descriptions of the
// curve.
//
//   beta             R = R25 exp(B (1/T - 1/298.15 K))             IEC 60539-1, the "B-value"
//   Steinhart-Hart   1/T = A + B ln R + C (ln R)^3                 Deep-Sea Research 15 (1968) 497
//   table            ln R over temperature, a cubic Hermite piece between two points of the table,
//                    slopes limited so that the curve never rises: Fritsch & Carlson, SIAM J.
//                    Numer. Anal. 17 (1980) 238. Of the regions they prove monotone, the square (a
//                    slope within 3 times either neighbouring secant) is taken: each slope then
//                    depends on its own neighbours alone, and nothing has to be prepared or stored.
//
// ln R, not R, is interpolated: a thermistor's R spans three decades over its range and is nearly
// exponential, so that the straight ends and the steep ends are followed alike.
//
// T in kelvin, 0 degC = 273.15 K. A table holds its ends. REQUIRES of the curves: r25_ohm > 0,
// beta_k > 0; b > 0, c >= 0; two or more points, temperature rising, ohm falling and > 0.
#ifndef DRYCRANK_SENSOR_NTC_H_
#define DRYCRANK_SENSOR_NTC_H_

#include "profile/sensors.h"

namespace drycrank::sensor {

double NtcOhm(const profile::BetaNtc& curve, double degc);
double NtcOhm(const profile::SteinhartHartNtc& curve, double degc);
double NtcOhm(const profile::TableNtc& curve, double degc);

// The inverse. At or below a resistance that no finite temperature has (a dead short), the highest
// double stands for "hotter than the curve reaches"; the caller holds it at the end of its range.
double NtcDegc(const profile::BetaNtc& curve, double ohm);
double NtcDegc(const profile::SteinhartHartNtc& curve, double ohm);
double NtcDegc(const profile::TableNtc& curve, double ohm);

}  // namespace drycrank::sensor

#endif  // DRYCRANK_SENSOR_NTC_H_
