// SPDX-License-Identifier: Apache-2.0
#include "protocol/scpi_meter.h"

#include <charconv>
#include <cmath>
#include <optional>
#include <system_error>

#include "protocol/scpi.h"
#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr double kNotANumber = 9.91e37;  // SCPI-1999 volume 1, 7.2.1

// The number as it stands, whatever it means.
double Plain(std::string_view text) {
  const auto begin = text.find_first_not_of(" \t+");
  if (begin == std::string_view::npos) return 0;
  double value = 0;
  const auto read = std::from_chars(text.data() + begin, text.data() + text.size(), value);
  const auto rest = text.substr(AsSize(read.ptr - text.data()));
  return rest.find_first_not_of(" \t\r\n") == std::string_view::npos ? value : 0;
}

}  // namespace

std::string_view MeterQuestion(MeterQuantity quantity) {
  switch (quantity) {
    case MeterQuantity::kVolts:
      return "MEAS:VOLT:DC?";
    case MeterQuantity::kOhms:
      return "MEAS:RES?";
    case MeterQuantity::kVoltsRms:
      return "MEAS:VOLT:AC?";
    case MeterQuantity::kAmperes:
      break;
  }
  return "MEAS:CURR:DC?";
}

MeterAnswer ParseMeterAnswer(std::string_view line) {
  using Kind = MeterAnswer::Kind;
  if (const std::optional<double> value = ScpiNumber(line)) return {Kind::kValue, *value};
  const double beyond = std::abs(Plain(line));
  return {beyond >= kNoReading && beyond < kNotANumber ? Kind::kOverload : Kind::kNone, 0};
}

}  // namespace drycrank::protocol
