// SPDX-License-Identifier: Apache-2.0
//
// A value as a person types what a meter shows: "0.72 V", "4,98 V", "2,45 kΩ", "420 mA", "open".
#ifndef DRYCRANK_TOOLS_TYPED_VALUE_H_
#define DRYCRANK_TOOLS_TYPED_VALUE_H_

#include <optional>
#include <string>

namespace drycrank::tools {

struct [[nodiscard]] TypedValue {
  double number = 0;    // infinite: open
  std::string unit;     // canonical; "ohm" of "open"
  std::string problem;  // what is wrong with it, and what would be right
};
TypedValue ReadTyped(const std::string& text);
// In this unit. `bare`: a number alone is in it, too. Else `problem` is set, and nothing comes.
std::optional<double> ReadTyped(const std::string& text, const std::string& unit, bool bare, std::string& problem);

// A decimal comma as a point.
std::string WithPoint(std::string text);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_TYPED_VALUE_H_
