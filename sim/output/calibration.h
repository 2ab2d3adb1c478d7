// SPDX-License-Identifier: Apache-2.0
//
// What an output really gives, from what was measured of it, beside what the bench states.
//
//   sound card   a sine of kToneShare of full scale, u V rms:   full scale = u * sqrt(2) / kToneShare
//   steps        y1 at the lowest count and y2 at the highest: the line through both (steps.h)
//
// A measured value that is more than kMostOff times what is stated, or less than that part of it, is taken for a mistake
// of the hand (another socket, another range, the volume), and so is a line that falls where a rising one is stated.
#ifndef DRYCRANK_OUTPUT_CALIBRATION_H_
#define DRYCRANK_OUTPUT_CALIBRATION_H_

#include <string>
#include <vector>

#include "output/steps.h"

namespace drycrank::output {

inline constexpr double kToneShare = 0.5;
inline constexpr double kToneHz = 1000;
inline constexpr double kMostOff = 5;

// One line for the bench.
struct Figure {
  std::string key;    // "full_scale_v"
  std::string value;  // as it is written there
  std::string spread;  // "5.3 was stated: 8.1 % less"; empty: a count, which nobody measures
};

struct [[nodiscard]] Calibrated {
  std::vector<Figure> figures;
  std::string problem;  // empty, or why these are not taken and what to look at
};

// V rms of such a sine when a full scale of so many volts is true.
double ToneRms(double full_scale_v);
Calibrated CalibrateTone(double stated_full_scale_v, double rms_v);
// `unit`: "V" or "ohm". REQUIRES: both are finite.
Calibrated CalibrateSteps(const Steps& stated, double at_lowest, double at_highest,
                          const std::string& unit);

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_CALIBRATION_H_
