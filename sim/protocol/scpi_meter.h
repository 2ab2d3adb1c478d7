// SPDX-License-Identifier: Apache-2.0
//
// What a meter is asked by SCPI-1999 (volume 2, MEASure) and what its answer says (volume 1, 7.2.1: numbers that
// are none). From memory.
//
//   MEAS:VOLT:DC?     +4.98123E+00      a value, in V, ohm or A
//   MEAS:RES?         +9.90000E+37      overload: more than its highest range. Of ohms: open
//                     +9.91000E+37      no number at all
//
// An answer with several readings, or with a unit behind it, is none: a meter was set by somebody else.
#ifndef DRYCRANK_PROTOCOL_SCPI_METER_H_
#define DRYCRANK_PROTOCOL_SCPI_METER_H_

#include <string_view>

namespace drycrank::protocol {

enum class MeterQuantity { kVolts, kOhms, kAmperes, kVoltsRms };

std::string_view MeterQuestion(MeterQuantity quantity);

struct MeterAnswer {
  enum class Kind { kValue, kOverload, kNone };
  Kind kind = Kind::kNone;
  double value = 0;  // V, ohm, A
};
MeterAnswer ParseMeterAnswer(std::string_view line);

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_SCPI_METER_H_
