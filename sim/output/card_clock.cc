// SPDX-License-Identifier: Apache-2.0
#include "output/card_clock.h"

#include <cmath>

namespace drycrank::output {

void CardClock::Report(TimeNs now_ns, double played_frames) {
  if (has_report_ && now_ns == now_ns_) return;
  if (!has_played_) Restart();
  if (!has_report_) first_ns_ = now_ns_ = now_ns;
  has_report_ = true;
  has_played_ = has_played_ || played_frames > 0;
  const double passed_s = ToSeconds(now_ns - now_ns_), keep = std::exp(-passed_s / kForgetS);
  now_ns_ = now_ns;
  // The past moves away by passed_s.
  sum_xx_ = keep * (sum_xx_ - 2 * passed_s * sum_x_ + passed_s * passed_s * sum_);
  sum_xd_ = keep * (sum_xd_ - passed_s * sum_d_);
  sum_x_ = keep * (sum_x_ - passed_s * sum_);
  sum_d_ *= keep;
  sum_ *= keep;
  // The new one, at x = 0.
  sum_ += 1;
  sum_d_ += played_frames - rate_hz_ * ToSeconds(now_ns - first_ns_);

  const double spread = sum_ * sum_xx_ - sum_x_ * sum_x_;
  if (ToSeconds(now_ns - first_ns_) >= kLearnedS && spread > 0) {
    slope_ = (sum_ * sum_xd_ - sum_x_ * sum_d_) / spread;
    is_learned_ = true;
  }
  ahead_ = (sum_d_ - slope_ * sum_x_) / sum_;
}

void CardClock::Restart() {
  has_report_ = has_played_ = false;
  sum_ = sum_x_ = sum_xx_ = sum_d_ = sum_xd_ = 0;
}

TimeNs CardClock::PlayedAt(double frame) const {
  const double played = rate_hz_ * ToSeconds(now_ns_ - first_ns_) + ahead_;
  return now_ns_ + FromSeconds((frame - played) / rate_hz());
}

std::optional<double> CardClock::error_ppm() const {
  if (!is_learned_) return std::nullopt;
  return slope_ / rate_hz_ * 1e6;
}

}  // namespace drycrank::output
