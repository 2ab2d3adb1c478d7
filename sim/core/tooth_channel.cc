// SPDX-License-Identifier: Apache-2.0
#include "core/tooth_channel.h"

namespace drycrank::core {

void ToothChannel::SetEven() {
  fitted_ = setting.teeth - setting.missing;
  for (int32_t tooth = 0; tooth < fitted_; ++tooth) {
    const int64_t begin = tooth * turn() / setting.teeth;
    at_[2 * tooth] = begin;
    at_[2 * tooth + 1] = begin + (turn() / setting.teeth * setting.duty >> 16);
  }
}

void ToothChannel::SetTooth(int32_t tooth, int32_t begin, int32_t end) {
  fitted_ = tooth + 1;
  at_[2 * tooth] = UnitsOf(begin) * setting.turns;
  at_[2 * tooth + 1] = UnitsOf(end) * setting.turns;
}

// By turns, since angles are counted from anywhere; two at most for what lies across a turn's end.
void ToothChannel::FindPlace(int64_t angle) {
  if (!has_wheel()) return;
  const int64_t own = angle - UnitsOf(setting.offset) + UnitsOf(setting.advance);
  int64_t turns = own / turn();
  if (own < turns * turn()) --turns;
  turn_begin_ = (turns - 1) * turn();
  edge_ = 0;
  while (Next() < angle) Pass();
}

int64_t ToothChannel::Next() const {
  return turn_begin_ + at_[edge_] + UnitsOf(setting.offset) - UnitsOf(setting.advance);
}

bool ToothChannel::Shows(int64_t t) const {
  const int32_t tooth = edge_ / 2;
  if (setting.gone[tooth / 32] >> (tooth % 32) & 1) return false;
  if (setting.fault != static_cast<int32_t>(Fault::kNone)) return false;
  if (setting.period_ms <= 0) return true;
  const int64_t ms = t / 1'000'000 % setting.period_ms;
  return ms < setting.period_ms - setting.absent_ms;
}

void ToothChannel::Pass() {
  if (++edge_ < 2 * fitted_) return;
  edge_ = 0;
  turn_begin_ += turn();
}

}  // namespace drycrank::core
