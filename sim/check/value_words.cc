// SPDX-License-Identifier: Apache-2.0
#include "check/value_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/state_names.h"
#include "types/unit.h"

namespace drycrank::check {

std::string Quantity(const profile::Bench& bench, const profile::SignalRef& ref) {
  return fmt::format("{}.{}", MessageAt(bench, MessageOf(ref)).name, SignalAt(bench, ref).name);
}

std::int64_t RawOf(const profile::Signal& signal, double physical) {
  return std::llround((physical - signal.offset) / signal.scale);
}

int DecimalsFor(const profile::Signal& signal) {
  if (signal.is_float) return 2;
  const double step_decimals = std::floor(-std::log10(std::abs(signal.scale)) + 1e-9);
  return static_cast<int>(std::clamp(step_decimals + 1, 1.0, 3.0));
}

std::string NumberText(double value, int decimals, std::string_view unit) {
  // fmt would write -0.0 for what rounds to nothing.
  const double smallest_shown = 0.5 * std::pow(10.0, -decimals);
  if (std::abs(value) < smallest_shown) value = 0;
  return WithUnit(fmt::format("{:.{}f}", value, decimals), unit);
}

std::string ValueText(const profile::Signal& signal, double physical) {
  if (const profile::StateNames& names = profile::NamesOfValues(signal); !names.empty()) {
    const auto found = names.find(RawOf(signal, physical));
    if (found != names.end()) return found->second;
  }
  return NumberText(physical, DecimalsFor(signal), signal.unit);
}

std::string NotReceived(std::string_view quantity, std::uint64_t unmeasured) {
  if (unmeasured > 0) {
    return fmt::format("{} was not measured: so say {} of {} messages received", quantity,
                       unmeasured, unmeasured);
  }

  return fmt::format("{} was not received while this was judged", quantity);
}

}  // namespace drycrank::check
