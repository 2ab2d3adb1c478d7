// SPDX-License-Identifier: Apache-2.0
//
// Time in drycrank: whole nanoseconds since the start of the run. An int64 lasts 292 years, and no
// floating-point time is ever accumulated: seconds as double appear only at the borders (profiles,
// reports) and inside one closed-form segment.
#ifndef DRYCRANK_TYPES_TIME_H_
#define DRYCRANK_TYPES_TIME_H_

#include <cmath>
#include <cstdint>
#include <limits>

namespace drycrank {

using TimeNs = std::int64_t;

inline constexpr TimeNs kNsPerUs = 1'000;
inline constexpr TimeNs kNsPerMs = 1'000'000;
inline constexpr TimeNs kNsPerS = 1'000'000'000;
// An instant that is not reached: the next edge of an engine that stands still.
inline constexpr TimeNs kNever = std::numeric_limits<TimeNs>::max();

// Nearest nanosecond. REQUIRES: |seconds| < 9.2e9.
inline TimeNs FromSeconds(double seconds) { return std::llround(seconds * 1e9); }
inline TimeNs FromMs(double ms) { return std::llround(ms * 1e6); }
inline double ToSeconds(TimeNs t_ns) { return static_cast<double>(t_ns) * 1e-9; }
inline double ToMs(TimeNs t_ns) { return static_cast<double>(t_ns) * 1e-6; }

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_TIME_H_
