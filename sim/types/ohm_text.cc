// SPDX-License-Identifier: Apache-2.0
#include "types/ohm_text.h"

#include <fmt/format.h>

#include <cmath>

#include "types/unit.h"

namespace drycrank {

std::string OhmText(double ohm) {
  // From where three digits round up to the next unit.
  constexpr double kKilo = 999.5, kMega = 999.5e3;
  if (!std::isfinite(ohm) || std::abs(ohm) < kKilo) return WithUnit(fmt::format("{:.3g}", ohm), "ohm");
  if (std::abs(ohm) < kMega) return WithUnit(fmt::format("{:.3g}", ohm / 1e3), "kohm");
  return WithUnit(fmt::format("{:.3g}", ohm / 1e6), "Mohm");
}

}  // namespace drycrank
