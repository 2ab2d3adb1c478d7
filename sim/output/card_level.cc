// SPDX-License-Identifier: Apache-2.0
#include "output/card_level.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace drycrank::output {
namespace {

constexpr double kCornerShare = 0.01;  // left of the card's own

}  // namespace

CardLevel::CardLevel(const CardChannel& channel, double rate_hz)
    : channel_(channel), per_volt_((channel.inverted ? -1 : 1) / channel.full_scale_v) {
  const double corner = 2 * std::numbers::pi * channel.corner_hz / rate_hz;  // rad a sample
  keep_ = std::exp(-corner * kCornerShare);
  half_sample_ = corner * (1 - kCornerShare) / 2;
}

void CardLevel::Rest() { before_v_ = area_ = 0; }

double CardLevel::Next(double volts) {
  double v = volts - channel_.zero_v;
  if (half_sample_ > 0) {
    area_ = area_ * keep_ + (before_v_ + v) * half_sample_;
    before_v_ = v;
    v += area_;
  }
  const double level = v * per_volt_;
  if (std::abs(level) > 1) ++clipped_;
  return std::clamp(level, -1.0, 1.0);
}

}  // namespace drycrank::output
