// SPDX-License-Identifier: Apache-2.0
//
// What a person at the bench says of a reading, as text, and back:
//
//   CMP.3=0.72 V                       volts from the wire side of the plug to the battery's minus, key on
//   CLT.1-CLT.2=0,3 V @ idle           between two places; in a step of the record
//   CLT.1-ECU.20=0.4 ohm               key off, battery off, the controller's plugs pulled
//   CLT.1-CLT.2=open without CLT       further plugs pulled; "with ECU": that one is on
//   device CLT.1-CLT.2=2,45 kΩ         at the device's own pins, its plug pulled
//   BT.1=420 mA                        the meter in series there
//   unplug CLT: engine_temps.coolant=-40 degC    what is reported then ("not sent")
//   hold coolant_temperature 90 degC: engine_temps.coolant=12 degC
//   bridge ECU.5-BT.2: yes             what was wrong at rest came right
//   wiggle CLT: no                     nothing jumped when the plug was moved
//   cannot CLT.1                       nobody gets there: a terminal, a splice or a plug
//
// A comma may be the decimal point; Ω, kohm, mV and so on are units. A number without one is refused.
#ifndef DRYCRANK_TOOLS_SAID_H_
#define DRYCRANK_TOOLS_SAID_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "diagnose/measured.h"

namespace drycrank::tools {

struct [[nodiscard]] Said {
  std::optional<diagnose::Answered> answered;
  std::string cannot;   // or the place that nobody gets to
  std::string problem;  // or what is wrong with it, and what would be right
  int column = 1;       // of what is wrong
};

Said ReadSaid(const diagnose::MeasuredModel& model, std::string_view text);
// The value alone, for a test that is known: "0.72 V", "0.72" where volts are asked for, "yes",
// "engine_temps.coolant=12 degC", "12".
Said ReadValue(const diagnose::MeasuredModel& model, const diagnose::Test& test,
               std::string_view text);
// What ReadSaid reads as the same.
std::string SaidOf(const diagnose::MeasuredModel& model, const diagnose::Answered& answered);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_SAID_H_
