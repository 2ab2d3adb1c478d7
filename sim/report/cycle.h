// SPDX-License-Identifier: Apache-2.0
//
// One cycle of the crank over its degrees: what the controller's trigger inputs saw, beside where
// each edge is due on the bench as drawn.
#ifndef DRYCRANK_REPORT_CYCLE_H_
#define DRYCRANK_REPORT_CYCLE_H_

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "types/time.h"

namespace drycrank::report {

// Degrees are of the crank from cylinder 1's firing top dead centre on, [0, cycle_deg].
struct CycleDue {
  double deg = 0;                 // where the edge is due
  bool high = false;              // the level from there on
  int tooth = 0;                  // of which tooth, from 1
  bool begin = false;             // of its begin; else of its end
  std::optional<double> off_deg;  // late is positive; nothing: it did not come
};
struct CycleRow {
  std::string name;                                    // "cam_intake at ECU.31"
  bool coil = false;                                   // its edges are zero crossings; else levels
  std::vector<std::pair<double, double>> volts;        // degrees, V
  std::vector<std::pair<double, std::string>> levels;  // lines across: "low below 1.5 V"
  std::vector<std::pair<double, bool>> seen;           // edges as the input made them, both levels
  std::vector<CycleDue> due;                           // ascending; of a coil one crossing a tooth
  std::vector<double> extra_deg;                       // edges that belong to none
  std::string words;  // "all edges at their places, at worst 0.0° late"
};
struct CycleSpark {
  double deg = 0;
  int cylinder = 0;
  double before_deg = 0;  // before its cylinder's top dead centre
  bool trailing = false;  // of the second plug
};
struct CycleInjection {
  double begin_deg = 0, end_deg = 0;  // end before begin: over the end of the cycle
  int cylinder = 0;
};
struct CyclePicture {
  std::string title;  // "One cycle where synchronised was worst"
  TimeNs begin_ns = 0, end_ns = 0;
  std::vector<TimeNs> times_ns;           // at equal steps of the cycle, from its begin to its end
  double cycle_deg = 720, speed_rpm = 0;  // the mean of that cycle
  std::vector<CycleRow> rows;
  std::vector<std::pair<double, int>> tops;  // firing top dead centre of each cylinder
  std::optional<double> advance_deg;         // as designed
  std::optional<double> trailing_deg;        // of the second plug, after that, as designed
  std::vector<CycleSpark> sparks;
  std::vector<CycleInjection> injections;
  std::vector<std::pair<double, std::string>> states;  // of the decoder, from these degrees on
};

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_CYCLE_H_
