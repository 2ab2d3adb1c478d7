// SPDX-License-Identifier: Apache-2.0
#include "sweep/fit_of_layout.h"

#include <algorithm>
#include <charconv>

#include "sweep/what_it_showed.h"

namespace drycrank::sweep {
namespace {

std::optional<double> NumberOf(const std::string& text) {
  double number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return number;
}

std::vector<double> NicestBetween(double low, double high) {
  if (low >= high || low <= -FitOfLayout::kAny || high >= FitOfLayout::kAny) return {};
  return {NicestIn(low, high), (low + high) / 2};
}

}  // namespace

void FitOfLayout::Between(double raw, double low, double high) {
  if (low > -kAny) offset_low_ = std::max(offset_low_, low - raw * scale_);
  if (high < kAny) offset_high_ = std::min(offset_high_, high - raw * scale_);
  if (raw == 0) return;
  const bool has_low = raw > 0 ? low > -kAny : high < kAny;
  const bool has_high = raw > 0 ? high < kAny : low > -kAny;
  if (has_low) scale_low_ = std::max(scale_low_, ((raw > 0 ? low : high) - offset_) / raw);
  if (has_high) scale_high_ = std::min(scale_high_, ((raw > 0 ? high : low) - offset_) / raw);
}

std::vector<double> FitOfLayout::Scales() const { return NicestBetween(scale_low_, scale_high_); }

std::vector<double> FitOfLayout::Offsets() const {
  return NicestBetween(offset_low_, offset_high_);
}

std::optional<QuietAndWarns> BetweenOf(const std::string& text) {
  constexpr std::string_view kQuiet = "quiet at ", kWarns = "; warns at ";
  const auto second = text.find(kWarns);
  if (!text.starts_with(kQuiet) || second == std::string::npos) return std::nullopt;
  const auto quiet = NumberOf(text.substr(kQuiet.size(), second - kQuiet.size()));
  const auto warns = NumberOf(text.substr(second + kWarns.size()));
  if (!quiet || !warns) return std::nullopt;
  return QuietAndWarns{*quiet, *warns};
}

}  // namespace drycrank::sweep
