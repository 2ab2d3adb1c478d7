// SPDX-License-Identifier: Apache-2.0
#include "schedule/wire_current.h"

#include <cmath>
#include <iterator>

namespace drycrank::schedule {
namespace {

struct Row {
  double area_mm2, ampere;
};
constexpr Row kRows[] = {{0.75, 13}, {1, 16}, {1.5, 20}, {2.5, 27},
                         {4, 36},    {6, 47}, {10, 65},  {16, 87}};
constexpr double kRoundingMm2 = 1e-6;

}  // namespace

double MostAmperes(double area_mm2) {
  if (area_mm2 < kRows[0].area_mm2) {
    return kRows[0].ampere * std::pow(area_mm2 / kRows[0].area_mm2, 0.65);
  }
  if (area_mm2 > std::end(kRows)[-1].area_mm2 + kRoundingMm2) return 0;
  double ampere = 0;
  for (const Row& row : kRows) {
    if (row.area_mm2 <= area_mm2 + kRoundingMm2) ampere = row.ampere;
  }
  return ampere;
}

}  // namespace drycrank::schedule
