// SPDX-License-Identifier: Apache-2.0
#include "output/calibration.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace drycrank::output {
namespace {

constexpr double kTheSame = 5e-5;  // four digits are written

bool IsFarOff(double measured, double stated) {
  const double times = std::abs(measured / stated);
  return !(times <= kMostOff && times >= 1 / kMostOff);
}

// Of a value with its place in a span: a percentage of the span.
std::string Spread(double measured, double stated, double span, const std::string& unit) {
  const double off = measured - stated;
  if (std::abs(off / span) < kTheSame) return fmt::format("{:.4g} {} was stated: the same", stated, unit);
  return fmt::format("{:.4g} {} was stated: {:.3g} % {}", stated, unit, 100 * std::abs(off / span),
                     off < 0 ? "less" : "more");
}

Figure Value(const char* key, double value, std::string spread) {
  return {key, fmt::format("{:.4g}", value), std::move(spread)};
}

}  // namespace

double ToneRms(double full_scale_v) { return full_scale_v * kToneShare / std::numbers::sqrt2; }

Calibrated CalibrateTone(double stated_full_scale_v, double rms_v) {
  const double full_scale_v = rms_v * std::numbers::sqrt2 / kToneShare;
  if (!(rms_v > 0) || IsFarOff(full_scale_v, stated_full_scale_v)) {
    return {{},
            fmt::format("{:.4g} V rms would be a full scale of {:.4g} V, and {:.4g} V is stated. Is the meter on AC volts, on "
                        "this output, and the volume where it stays? If it is true, write about what you measure into the bench "
                        "by hand, then calibrate again",
                        rms_v, full_scale_v, stated_full_scale_v)};
  }
  return {{Value("full_scale_v", full_scale_v,
                 Spread(full_scale_v, stated_full_scale_v, stated_full_scale_v, "V"))},
          ""};
}

Calibrated CalibrateSteps(const Steps& stated, double at_lowest, double at_highest,
                          const std::string& unit) {
  const double lowest = stated.ValueOf(stated.least), highest = stated.ValueOf(stated.most);
  const double span = highest - lowest, measured = at_highest - at_lowest;
  if (IsFarOff(measured, span) || std::abs(at_lowest - lowest) > kMostOff * std::abs(span)) {
    return {{},
            fmt::format("{:.4g} to {:.4g} {} was measured, and {:.4g} to {:.4g} {} is stated. Is the meter on this channel, and on "
                        "the right range? If it is true, write about what you measure into the bench by hand, then "
                        "calibrate again",
                        at_lowest, at_highest, unit, lowest, highest, unit)};
  }
  if (measured * span < 0) {
    return {{}, fmt::format("{:.4g} {} at the lowest count and {:.4g} {} at the highest: the other way round than stated. Are the "
                            "probes exchanged?", at_lowest, unit, at_highest, unit)};
  }
  const std::string end = unit == "V" ? "v" : "ohm";
  return {{Value(("at_lowest_" + end).c_str(), at_lowest, Spread(at_lowest, lowest, span, unit)),
           Value(("at_highest_" + end).c_str(), at_highest, Spread(at_highest, highest, span, unit)),
           {"lowest_count", fmt::format("{}", stated.least), ""},
           {"highest_count", fmt::format("{}", stated.most), ""}},
          ""};
}

}  // namespace drycrank::output
