// SPDX-License-Identifier: Apache-2.0
//
// One cell of a spreadsheet to what the bench's YAML says: numbers with decimal comma or point and
// with or without unit, gauges, names.
#ifndef DRYCRANK_SCHEDULE_CELLS_H_
#define DRYCRANK_SCHEDULE_CELLS_H_

#include <optional>
#include <string>
#include <string_view>

namespace drycrank::schedule {

// A value, or what is wrong and what would be right.
template <class Value>
struct Read {
  std::optional<Value> value;
  std::string what, remedy;
};

// Metres. "1.7", "1,7 m", "1700 mm", "67 in", "67\"". Without a unit in the cell it is in `unit`
// (of the heading), without that in m. A comma before three last digits ("1,700") is a decimal
// comma only when `comma_is_decimal`: the file's fields are separated by something else. (0, 200]
Read<double> ReadLength(std::string_view text, std::string_view unit, bool comma_is_decimal);

// Canonical: "0.5 mm2", "20 AWG", one of profile/wire_gauge.h. Without a unit anywhere a number is
// mm2 or AWG by where it is found in the table; no number is in both.
Read<std::string> ReadGauge(std::string_view text, std::string_view unit);

// Names that the profile takes. A connector, pin or splice: letters, digits, _ and -; a circuit:
// letters, digits and _, no digit first. Other characters become _, umlauts are written out, + is
// "plus". Empty when nothing is left.
std::string PlugName(std::string_view text);
std::string CircuitName(std::string_view text);

// "CLT.1", "CLT-1", "CLT:1", "CLT/1", "CLT pin 1", "CLT 1": connector and pin as written; nothing
// if there is only one word.
struct PlugAndPin {
  std::string plug, pin;
};
std::optional<PlugAndPin> SplitTerminal(std::string_view text);

// "1" of "Pin 1".
std::string PinText(std::string_view text);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_CELLS_H_
