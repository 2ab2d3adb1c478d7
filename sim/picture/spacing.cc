// SPDX-License-Identifier: Apache-2.0
#include "picture/spacing.h"

#include <algorithm>
#include <cmath>

namespace drycrank::picture {
namespace {

// From middle to middle, of a digit's width: more may hide a point; where one is due and not seen;
// and the least with a point.
constexpr double kApart = 1.42, kApartWithDuePoint = 1.34, kLeastWithPoint = 1.38;
// A 1 stands aside of its middle in some hands. From ink to ink, of the height, and then from
// middle to middle.
constexpr double kGap = 0.34, kApartWithGap = 1.3;

bool IsDigit(const StandingSign& sign) { return sign.name >= '0' && sign.name <= '9'; }

double HeightOf(const StandingNumber& number) {
  double height = 1e-9;
  for (const StandingSign& sign : number) {
    if (IsDigit(sign)) height = std::max(height, sign.height);
  }
  return height;
}

double Apart(const StandingSign& a, const StandingSign& b) {
  return (b.left + b.right - a.left - a.right) / 2;
}

}  // namespace

double DigitWidth(const std::vector<StandingNumber>& of_one_lettering) {
  double widest = 0;
  for (const StandingNumber& number : of_one_lettering) {
    const double height = HeightOf(number);
    for (const StandingSign& sign : number) {
      const bool counts = IsDigit(sign) && sign.name != '1';
      if (counts) widest = std::max(widest, (sign.right - sign.left) / height);
    }
  }
  return widest;
}

std::string WhySpacing(const StandingNumber& number, double digit_width, bool must_have_point) {
  const double height = HeightOf(number), width = digit_width * height;
  const bool has_point = std::ranges::any_of(number, [](const auto& s) { return s.name == '.'; });
  const double most = must_have_point && !has_point ? kApartWithDuePoint : kApart;
  const StandingSign* last = nullptr;
  bool is_point_between = false;
  for (const StandingSign& sign : number) {
    if (sign.name == '.') is_point_between = true;
    if (!IsDigit(sign)) continue;
    if (last != nullptr) {
      if (width <= 0) return "no other digit tells how far its ones should stand apart";
      const double apart = Apart(*last, sign) / width, gap = (sign.left - last->right) / height;
      const bool is_wide = apart > most || (gap > kGap && apart > kApartWithGap);
      if (!is_point_between && is_wide) return "its digits stand apart: a point might be lost";
      if (is_point_between && apart < kLeastWithPoint) return "its point has no room";
    }
    last = &sign;
    is_point_between = false;
  }
  return "";
}

}  // namespace drycrank::picture
