// SPDX-License-Identifier: Apache-2.0
//
// Which scale alone, or which offset alone, explains what was shown: each number that stood there,
// and each limit, says between what the value of a raw number lay,
//   low <= raw * scale + offset <= high
// Also the two sides of a limit as a fact has them.
#ifndef DRYCRANK_SWEEP_FIT_OF_LAYOUT_H_
#define DRYCRANK_SWEEP_FIT_OF_LAYOUT_H_

#include <optional>
#include <string>
#include <vector>

namespace drycrank::sweep {

class FitOfLayout {
 public:
  static constexpr double kAny = 1e300;  // no bound

  FitOfLayout(double scale, double offset) : scale_(scale), offset_(offset) {}

  void Between(double raw, double low, double high);
  bool IsKnown() const { return offset_low_ > -kAny && offset_high_ < kAny; }
  // With the offset as it is set, and the other way round: the nicest number, then the middle.
  // Empty: none explains it.
  std::vector<double> Scales() const;
  std::vector<double> Offsets() const;

  friend bool operator==(const FitOfLayout&, const FitOfLayout&) = default;

 private:
  double scale_, offset_;  // as set
  double scale_low_ = -kAny, scale_high_ = kAny, offset_low_ = -kAny, offset_high_ = kAny;
};

// "quiet at 112; warns at 113"
struct QuietAndWarns {
  double quiet = 0, warns = 0;
};
std::optional<QuietAndWarns> BetweenOf(const std::string& text);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_FIT_OF_LAYOUT_H_
