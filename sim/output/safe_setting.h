// SPDX-License-Identifier: Apache-2.0
//
// What one output needs so that it is safe, as plain data: it can be handed to another process, which
// has it when the one that drove the output is gone (io/guard.h). As a line its words are separated
// by tabs, for a path may hold a blank:
//
//   gpio   /dev/gpiochip0  5  0                 a line of a GPIO chip, and its level (0 low, 1 high)
//   file   /sys/.../out_voltage0_raw  0         a text into a file, as the kernel's DACs take it
//   tcp    192.168.1.20  5025  OUTP OFF  OUTP?  a line of text to an instrument, and if one is given, the
//                                               question that it must answer with 0 before it counts as safe
//
// A core on a serial line and a node on a CAN bus need no setting here: they go to their safe state by
// themselves when they hear nothing (hw-notes/trigger-core.md, slow-outputs.md), also when this computer hangs.
#ifndef DRYCRANK_OUTPUT_SAFE_SETTING_H_
#define DRYCRANK_OUTPUT_SAFE_SETTING_H_

#include <string>
#include <string_view>
#include <variant>

namespace drycrank::output {

struct SafeLevel {
  std::string chip;  // a path
  int line = 0;
  bool high = false;
  friend bool operator==(const SafeLevel&, const SafeLevel&) = default;
};
struct SafeText {
  std::string path, text;
  friend bool operator==(const SafeText&, const SafeText&) = default;
};
struct SafeRequest {
  std::string host;
  int port = 0;
  std::string line;        // without its end
  std::string question{};  // empty: it is not asked back
  friend bool operator==(const SafeRequest&, const SafeRequest&) = default;
};
using SafeSetting = std::variant<SafeLevel, SafeText, SafeRequest>;

std::string Line(const SafeSetting& setting);

// One of the two counts: `error` is empty, or says what is wrong with the line and what would be right.
struct [[nodiscard]] ReadSetting {
  SafeSetting setting;
  std::string error;
};
ReadSetting ParseSafeSetting(std::string_view line);

// For people: "line 5 of /dev/gpiochip0 low".
std::string Words(const SafeSetting& setting);

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_SAFE_SETTING_H_
