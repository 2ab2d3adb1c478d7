// SPDX-License-Identifier: Apache-2.0
//
// How a CSV file of samples is written, found from its first lines: what separates columns, which
// character is the decimal point, where the lines of numbers begin, names and units above them.
//
//   Time;Channel A;Channel B        names, of the first line with as many fields as the numbers have
//   (ms);(V);(mV)                   units, where a line of them stands
//   0,000;1,25;-3,1                 the first line of numbers
#ifndef DRYCRANK_CAPTURE_CSV_SHAPE_H_
#define DRYCRANK_CAPTURE_CSV_SHAPE_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace drycrank::capture {

struct CsvShape {
  char separator = ',';
  char decimal = '.';
  std::size_t first_line = 0;             // of numbers, from 0
  std::vector<std::string> names, units;  // one per column
};

// Nothing when there is no line of numbers among them.
std::optional<CsvShape> ShapeOf(const std::vector<std::string>& lines);

// Fields without blanks and quotes around them.
void SplitFields(std::string_view line, char separator, std::vector<std::string_view>& fields);
// A plain number, in full; a lone + before it is allowed. Not: inf, nan.
std::optional<double> NumberOf(std::string_view field, char decimal);
// What a time in that unit is in ns; 0: it is no unit of time.
double NsPer(std::string_view unit);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_CSV_SHAPE_H_
