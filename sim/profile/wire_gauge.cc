// SPDX-License-Identifier: Apache-2.0
#include "profile/wire_gauge.h"

#include <fmt/format.h>

#include "types/unit.h"

namespace drycrank::profile {
namespace {

struct Row {
  std::string_view unit;
  double size;
  WireGauge gauge;
};
constexpr Row kRows[] = {
    {"mm2", 0.34, {0.34, 53}},     {"mm2", 0.35, {0.35, 54.4}},   {"mm2", 0.5, {0.5, 39.0}},
    {"mm2", 0.75, {0.75, 26.0}},   {"mm2", 1.0, {1.0, 19.5}},     {"mm2", 1.5, {1.5, 13.3}},
    {"mm2", 2.5, {2.5, 7.98}},     {"mm2", 4.0, {4.0, 4.95}},     {"mm2", 6.0, {6.0, 3.30}},
    {"mm2", 10, {10, 1.91}},       {"mm2", 16, {16, 1.21}},       {"mm2", 25, {25, 0.780}},
    {"AWG", 4, {21.151, 0.8152}},  {"AWG", 6, {13.302, 1.2961}},  {"AWG", 8, {8.3656, 2.0610}},
    {"AWG", 10, {5.2612, 3.2770}}, {"AWG", 12, {3.3088, 5.210}},  {"AWG", 14, {2.0809, 8.284}},
    {"AWG", 16, {1.3087, 13.176}}, {"AWG", 18, {0.8230, 20.948}}, {"AWG", 20, {0.5176, 33.301}},
    {"AWG", 22, {0.3255, 52.953}}, {"AWG", 24, {0.2047, 84.219}}, {"AWG", 26, {0.1288, 133.87}},
};

}  // namespace

std::optional<WireGauge> FindWireGauge(std::string_view text) {
  const auto number = ParseNumberWithUnit(text);
  if (!number) return std::nullopt;
  const std::string_view unit = number->unit == "mm²" ? std::string_view("mm2") : number->unit;
  for (const Row& row : kRows) {
    if (row.unit == unit && row.size == number->value) return row.gauge;
  }
  return std::nullopt;
}

std::vector<std::string> WireGaugeNames() {
  std::vector<std::string> names;
  for (const Row& row : kRows) names.push_back(fmt::format("{:g} {}", row.size, row.unit));
  return names;
}

}  // namespace drycrank::profile
