// SPDX-License-Identifier: Apache-2.0
//
// A bench with protections drawn by a seed, as the text of its file: an engine of one to six cylinders
// and two or four strokes, crank and cam wheels, a pressure, a temperature and a speed sensor, and one to
// four protections on their channels and on the engine's speed, with limits, releases, delays and actions
// between round numbers. The same seed gives the same text. All of it is invented.
#ifndef DRYCRANK_TESTS_STUDY_DRAWN_LIMITS_H_
#define DRYCRANK_TESTS_STUDY_DRAWN_LIMITS_H_

#include <cstdint>
#include <string>

#include "profile/bench.h"

namespace drycrank::study {

std::string DrawLimitsBench(std::uint64_t seed);
// Loads such a text; a test that cannot fails.
profile::Bench LoadLimitsBench(const std::string& text);

}  // namespace drycrank::study

#endif  // DRYCRANK_TESTS_STUDY_DRAWN_LIMITS_H_
