// SPDX-License-Identifier: Apache-2.0
//
// How much a profile may ask for. Files are read from places that the reader did not write.
#ifndef DRYCRANK_TYPES_LIMITS_H_
#define DRYCRANK_TYPES_LIMITS_H_

#include <cstddef>

namespace drycrank {

inline constexpr std::size_t kMaxFileBytes = std::size_t{1} << 20;
inline constexpr std::size_t kMaxFiles = 64;
inline constexpr std::size_t kMaxNodes = 200'000;  // aliases and includes expanded
inline constexpr int kMaxDepth = 32;

inline constexpr std::size_t kMaxNameLength = 64;
inline constexpr std::size_t kMaxTextLength = 2000;
inline constexpr std::size_t kMaxStimuli = 256;
inline constexpr std::size_t kMaxTriggers = 8;
inline constexpr std::size_t kMaxSensors = 256;
inline constexpr std::size_t kMaxCircuits = 1000;
inline constexpr std::size_t kMaxPins = 500;  // of one connector
inline constexpr std::size_t kMaxBuses = 4;
inline constexpr std::size_t kMaxMessages = 1000;
inline constexpr std::size_t kMaxTeeth = 1000;
inline constexpr std::size_t kMaxCylinders = 24;

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_LIMITS_H_
