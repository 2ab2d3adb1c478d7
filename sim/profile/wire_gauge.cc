// SPDX-License-Identifier: Apache-2.0
#include "profile/wire_gauge.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>

#include "types/unit.h"

namespace drycrank::profile {
namespace {

constexpr double kCopperOhmMm2PerKm = 17.241;
constexpr double kStrandFactor = 1.13;
constexpr double kThinnestMm2 = 0.13, kThickestMm2 = 120;
constexpr int kThinnestAwg = 28, kThickestAwg = -3;  // 4/0

struct Row {
  double size;  // mm2, or number of AWG
  double mohm_per_m;
};
constexpr Row kMm2[] = {{0.34, 53},  {0.35, 54.4}, {0.5, 39.0}, {0.75, 26.0}, {1.0, 19.5},
                        {1.5, 13.3}, {2.5, 7.98},  {4.0, 4.95}, {6.0, 3.30},  {10, 1.91},
                        {16, 1.21},  {25, 0.780},  {35, 0.554}, {50, 0.386},  {70, 0.272},
                        {95, 0.206}, {120, 0.161}};
struct PrintedRow {
  int number;
  double area_mm2, mohm_per_m;
};
constexpr PrintedRow kAwg[] = {{12, 3.3088, 5.210},  {14, 2.0809, 8.284},  {16, 1.3087, 13.176},
                               {18, 0.8230, 20.948}, {20, 0.5176, 33.301}, {22, 0.3255, 52.953},
                               {24, 0.2047, 84.219}};
// Made, and in no table at hand.
constexpr double kThinMm2[] = {0.13, 0.22};

std::optional<WireGauge> OfArea(double mm2) {
  if (!(mm2 >= kThinnestMm2 && mm2 <= kThickestMm2)) return std::nullopt;
  for (const Row& row : kMm2) {
    if (row.size == mm2) return WireGauge{mm2, row.mohm_per_m, true};
  }
  const bool is_usual = std::ranges::find(kThinMm2, mm2) != std::end(kThinMm2);
  return WireGauge{mm2, kCopperOhmMm2PerKm * kStrandFactor / mm2, is_usual};
}

std::optional<WireGauge> OfNumber(int awg) {
  if (awg > kThinnestAwg || awg < kThickestAwg) return std::nullopt;
  for (const PrintedRow& row : kAwg) {
    if (row.number == awg) return WireGauge{row.area_mm2, row.mohm_per_m, true};
  }
  const double diameter_mm = 0.127 * std::pow(92.0, (36.0 - awg) / 39);
  const double area_mm2 = std::numbers::pi / 4 * diameter_mm * diameter_mm;
  return WireGauge{area_mm2, kCopperOhmMm2PerKm / area_mm2, true};
}

// "3/0": one wire thicker than 1 AWG is 1/0, and so on. Empty: no such number.
std::optional<int> NumberOfAwg(std::string_view text) {
  int number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc()) return std::nullopt;
  const std::string_view rest(end, text.data() + text.size());
  if (rest.empty() && number >= 0) return number;
  if (rest == "/0" && number >= 1) return 1 - number;
  return std::nullopt;
}

std::string NameOfAwg(int number) {
  return number > 0 ? fmt::format("{} AWG", number) : fmt::format("{}/0 AWG", 1 - number);
}

}  // namespace

std::optional<WireGauge> FindWireGauge(std::string_view text) {
  if (text.ends_with("AWG")) {
    text.remove_suffix(3);
    while (text.ends_with(' ')) text.remove_suffix(1);
    const auto number = NumberOfAwg(text);
    return number ? OfNumber(*number) : std::nullopt;
  }
  const auto number = ParseNumberWithUnit(text);
  if (!number || (number->unit != "mm2" && number->unit != "mm²")) return std::nullopt;
  return OfArea(number->value);
}

std::vector<std::string> WireGaugeNames() {
  std::vector<std::string> names;
  for (const double mm2 : kThinMm2) names.push_back(fmt::format("{:g} mm2", mm2));
  for (const Row& row : kMm2) names.push_back(fmt::format("{:g} mm2", row.size));
  for (int number = kThinnestAwg; number >= kThickestAwg; number -= number > 0 ? 2 : 1)
    names.push_back(NameOfAwg(number));
  return names;
}

}  // namespace drycrank::profile
