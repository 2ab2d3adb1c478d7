// SPDX-License-Identifier: Apache-2.0
//
// How far apart rows of a CSV file stand, from its first lines, so that missing ones are seen.
//
//   times    0  1  2  3        6  7        a row that comes later than `farthest_ns` after the one before:
//                                          rows are missing between the two
//
// Times that are written coarsely (0, 0, 1, 1, 2 ms for two rows a millisecond) differ by a step of
// the writing or by none: what 95 of 100 rows keep to is their distance, and what is clearly above
// it a hole.
#ifndef DRYCRANK_CAPTURE_CSV_CLOCK_H_
#define DRYCRANK_CAPTURE_CSV_CLOCK_H_

#include <optional>
#include <string_view>
#include <vector>

namespace drycrank::capture {

struct CsvClock {
  double step_ns = 0;      // the mean
  double farthest_ns = 0;  // of neighbours; 0: the rows follow no clock
  double index_step = 0;   // between the numbers of rows; 0: they have none
  bool is_even = false;    // all of them alike
  bool ticks() const { return farthest_ns > 0; }
};
CsvClock ClockOf(const std::vector<std::optional<double>>& times, double ns_per_time,
                 double index_step);

// What the times of a file are rounded to, by how they are written: to the last decimal that any
// had, to as many digits as any had (0.15 may be 0.1500000 without its zeros), and to what a float
// of 32 bits can hold, which loggers count their time in.
class TimeDigits {
 public:
  void Add(std::string_view written, char decimal);
  double RoundedTo(double time) const;  // in the unit of the times

 private:
  int decimals_ = 0, digits_ = 1;
};

// What most numbers of rows differ by. 0: there are none.
double StepOf(const std::vector<std::optional<double>>& numbers);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_CSV_CLOCK_H_
