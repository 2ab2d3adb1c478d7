// SPDX-License-Identifier: Apache-2.0
//
// Seeded random numbers that are the same on every machine and standard library: SplitMix64 (Steele,
// Lea, Flood 2014) started from a seed and a stream number, so that each channel has its own sequence
// and adding a channel moves no other.
#ifndef DRYCRANK_TYPES_RANDOM_H_
#define DRYCRANK_TYPES_RANDOM_H_

#include <cmath>
#include <cstdint>
#include <numbers>

namespace drycrank {

class Random {
 public:
  Random(std::uint64_t seed, std::uint64_t stream) : state_(Mix(seed ^ Mix(stream + 1))) {}

  std::uint64_t Next() {
    state_ += 0x9E3779B97F4A7C15u;
    return Mix(state_);
  }
  // [0, 1)
  double Uniform() { return static_cast<double>(Next() >> 11) * 0x1.0p-53; }
  // Normal with mean 0 and deviation 1, by Box and Muller (1958).
  double Gauss() {
    const double u = 1.0 - Uniform();  // (0, 1]
    return std::sqrt(-2.0 * std::log(u)) * std::cos(2.0 * std::numbers::pi * Uniform());
  }

 private:
  static constexpr std::uint64_t Mix(std::uint64_t z) {
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
  }

  std::uint64_t state_;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_RANDOM_H_
