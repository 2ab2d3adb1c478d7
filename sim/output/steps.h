// SPDX-License-Identifier: Apache-2.0
//
// The steps of a DAC or of a digital potentiometer, and what they make of a sensor's quantity:
//
//   value = (count + offset) * scale          V, A or ohm; as the kernel states it (sysfs-bus-iio)
//
//   ohm  ├──┼──┼──┼──┼──┼──┤  evenly
//   °C   ├┼─┼──┼───┼────┼──────┤  by the sensor's curve: a thermistor's are widest where it is hot
#ifndef DRYCRANK_OUTPUT_STEPS_H_
#define DRYCRANK_OUTPUT_STEPS_H_

#include <functional>
#include <optional>
#include <string>

namespace drycrank::output {

struct Steps {
  double scale = 1, offset = 0;  // REQUIRES: scale is not 0
  int least = 0, most = 1;       // counts; least < most

  double ValueOf(int count) const { return (count + offset) * scale; }
  // Of those that there are.
  int Nearest(double value) const;
  double LeastValue() const;
  double MostValue() const;
};

// From the value at the lowest count and at the highest, both measured.
Steps StepsBetween(double at_least, double at_most, int least, int most);

// What is given of a quantity between `from` and `to`.
struct GivenBand {
  bool reaches = false;    // both ends are within half a step
  double widest_step = 0;  // between two neighbours, in the quantity
  double worst_error = 0;  // of the nearest count, anywhere in the band
};
// `curve`: the electrical value of a quantity, rising or falling throughout. REQUIRES: from < to.
GivenBand BandOf(const Steps& steps, double from, double to,
                 const std::function<double(double)>& curve);

// "between 40 and 60 °C: steps of 0.8 °C, 0.4 °C off at most".
std::string Words(const GivenBand& band, double from, double to, const std::string& unit);

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_STEPS_H_
