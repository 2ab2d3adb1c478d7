// SPDX-License-Identifier: Apache-2.0
#include "profile/protection_words.h"

#include <fmt/format.h>

#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

// As it is given in the file.
std::string Given(double value, const std::string& unit) {
  return WithUnit(fmt::format("{:.6g}", value + 0.0), unit);
}

}  // namespace

std::string ActionInWords(const Bench& bench, const Protection& p) {
  switch (p.action) {
    case ProtectionAction::kSparkCut:
      return "no sparks";
    case ProtectionAction::kFuelCut:
      return "no injections";
    case ProtectionAction::kLimitSpeed:
      return fmt::format("no more than {:g} r/min", p.limit_to_rpm);
    case ProtectionAction::kOutputOff:
      return p.output < 0 ? "an output off"
                          : Nth(bench.controller->outputs, p.output).label + " off";
    case ProtectionAction::kLamp:
      break;
  }
  return p.lamp_text + " lit";
}

std::string InWords(const Bench& bench, const Protection& p) {
  std::string text =
      fmt::format("{} while {} is {} {}", ActionInWords(bench, p), p.watches,
                  p.side == LimitSide::kAbove ? "above" : "below", Given(p.limit, p.unit));
  if (p.release != p.limit) text += fmt::format(", until {}", Given(p.release, p.unit));
  if (p.delay_ms > 0) text += fmt::format(", after {:g} ms", p.delay_ms);
  if (p.needs_above_rpm > 0) text += fmt::format(", from {:g} r/min on", p.needs_above_rpm);
  return text;
}

}  // namespace drycrank::profile
