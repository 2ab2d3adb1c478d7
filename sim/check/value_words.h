// SPDX-License-Identifier: Apache-2.0
//
// Signals and their values in words: "engine_temps.coolant", "141.0 °C", "searching".
#ifndef DRYCRANK_CHECK_VALUE_WORDS_H_
#define DRYCRANK_CHECK_VALUE_WORDS_H_

#include <cstdint>
#include <string>
#include <string_view>

#include "profile/bench.h"

namespace drycrank::check {

using profile::MessageAt;
using profile::SignalAt;
inline profile::MessageRef MessageOf(const profile::SignalRef& ref) {
  return {ref.bus, ref.message};
}
inline bool Same(const profile::MessageRef& a, const profile::MessageRef& b) {
  return a.bus == b.bus && a.message == b.message;
}

std::string Quantity(const profile::Bench& bench, const profile::SignalRef& ref);

// Raw value that a physical value of an integer signal stands for.
std::int64_t RawOf(const profile::Signal& signal, double physical);

// Decimals finer than one step of the signal, since a verdict may hang on less than a step. [1, 3]
int DecimalsFor(const profile::Signal& signal);
std::string NumberText(double value, int decimals, std::string_view unit);
// The value's name if it has one, else number and unit.
std::string ValueText(const profile::Signal& signal, double physical);
// `unmeasured`: messages that came and say that they carry no measured value.
std::string NotReceived(std::string_view quantity, std::uint64_t unmeasured = 0);

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_VALUE_WORDS_H_
