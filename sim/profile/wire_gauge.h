// SPDX-License-Identifier: Apache-2.0
//
// Resistance of copper wire by its gauge, direct current, 20 degC.
//   mm2: largest values of IEC 60228 for flexible conductors, class 5 and 6, plain copper.
//   AWG: solid annealed copper, ASTM B258 (ohm per 1000 ft of the printed table * 3.28084).
//   0.35 mm2 (ISO 6722), 4 to 120 mm2 (IEC 60228 class 5): from memory, not looked up again.
// What stands in neither table is computed:
//   AWG n  by the law of ASTM B258, d = 0.127 mm * 92^((36 - n) / 39), 1/0 is n = 0, 2/0 is n = -1, and
//          17.241 ohm mm2/km (100 % IACS); it meets the printed rows within 0.05 %.
//   mm2    17.241 ohm mm2/km / area * 1.13: a strand is longer than its wire and thinner than its name. The
//          rows of IEC 60228 have 1.11 to 1.16 (0.34 mm2: 1.05).
#ifndef DRYCRANK_PROFILE_WIRE_GAUGE_H_
#define DRYCRANK_PROFILE_WIRE_GAUGE_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace drycrank::profile {

struct WireGauge {
  double area_mm2 = 0;
  double mohm_per_m = 0;
  bool is_usual = false;  // a size that is made, not one between two
};

// "0.5 mm2", "0.5 mm²", "20 AWG", "2/0 AWG", with or without space. Empty: no gauge, or out of range.
std::optional<WireGauge> FindWireGauge(std::string_view text);
inline constexpr std::string_view kWireGauges = "0.13 to 120 mm2, or 28 to 4/0 AWG";
// Sizes that are made, from thin to thick; of AWG each second one.
std::vector<std::string> WireGaugeNames();

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_WIRE_GAUGE_H_
