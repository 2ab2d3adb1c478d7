// SPDX-License-Identifier: Apache-2.0
//
// Resistance of copper wire by its gauge, direct current, 20 degC.
//   mm2: largest values of IEC 60228 for flexible conductors, class 5 and 6, plain copper.
//   AWG: solid annealed copper, ASTM B258 (ohm per 1000 ft of the printed table * 3.28084).
//   AWG 4, 6, 8, 10 and 26: by the law of ASTM B258, d = 0.127 mm * 92^((36 - n) / 39), and 17.241 ohm
//   mm2/km (100 % IACS); it meets the printed rows within 0.05 %.
//   0.35 mm2 (ISO 6722) and 4 to 25 mm2 (IEC 60228 class 5): from memory, not looked up again.
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
};

// "0.5 mm2", "0.5 mm²", "20 AWG", with or without space.
std::optional<WireGauge> FindWireGauge(std::string_view text);
std::vector<std::string> WireGaugeNames();

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_WIRE_GAUGE_H_
