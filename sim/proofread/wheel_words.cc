// SPDX-License-Identifier: Apache-2.0
#include "proofread/wheel_words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "types/limits.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

constexpr double kOnPlace = 0.01;  // of a pitch

// From each tooth's begin to the next one's.
double ShortestPitchDeg(const profile::Wheel& wheel) {
  double shortest_deg = 360;
  for (std::size_t i = 0; i + 1 < wheel.teeth.size(); ++i) {
    shortest_deg = std::min(shortest_deg, wheel.teeth[i + 1].begin_deg - wheel.teeth[i].begin_deg);
  }
  return shortest_deg;
}

std::string Listed(const std::vector<int>& numbers) {
  if (numbers.size() == 1) return fmt::format("{}", numbers[0]);
  const std::vector<int> first(numbers.begin(), numbers.end() - 1);
  return fmt::format("{} and {}", fmt::join(first, ", "), numbers.back());
}

std::string TeethByAngle(const profile::Wheel& wheel) {
  constexpr std::size_t kShown = 8;
  std::vector<std::string> teeth;
  for (const Tooth& tooth : wheel.teeth) {
    if (teeth.size() == kShown) {
      teeth.emplace_back("...");
      break;
    }
    teeth.push_back(fmt::format("{:g}-{:g}", tooth.begin_deg, tooth.end_deg));
  }
  return fmt::format("{} {} at {} deg of the wheel", wheel.teeth.size(),
                     wheel.teeth.size() == 1 ? "tooth" : "teeth", fmt::join(teeth, ", "));
}

}  // namespace

std::optional<EvenRow> EvenRowOf(const profile::Wheel& wheel) {
  if (wheel.teeth.size() < 2) return std::nullopt;
  const double places = 360 / ShortestPitchDeg(wheel);
  EvenRow row{static_cast<int>(std::lround(places)), {}};
  if (std::abs(places - row.places) > kOnPlace || row.places > static_cast<int>(kMaxTeeth) ||
      AsSize(row.places) > 2 * wheel.teeth.size()) {
    return std::nullopt;
  }
  int next = 1;
  const double width_deg = wheel.teeth[0].end_deg - wheel.teeth[0].begin_deg;
  for (const Tooth& tooth : wheel.teeth) {
    const double place = (tooth.begin_deg - wheel.teeth[0].begin_deg) * row.places / 360 + 1;
    const int number = static_cast<int>(std::lround(place));
    const bool as_wide = std::abs(tooth.end_deg - tooth.begin_deg - width_deg) < 0.01;
    if (std::abs(place - number) > kOnPlace || !as_wide) return std::nullopt;
    for (; next < number; ++next) row.missing.push_back(next);
    next = number + 1;
  }
  for (; next <= row.places; ++next) row.missing.push_back(next);
  return row;
}

std::string WheelWords(const profile::Wheel& wheel) {
  const auto row = EvenRowOf(wheel);
  if (!row) return TeethByAngle(wheel);
  if (row->missing.empty()) return fmt::format("{} even teeth", row->places);
  return fmt::format("{} teeth on {} places, {} missing", wheel.teeth.size(), row->places,
                     Listed(row->missing));
}

}  // namespace drycrank::proofread
