// SPDX-License-Identifier: Apache-2.0
#include "picture/beside.h"

#include <fmt/format.h>

#include <map>

#include "picture/digit_shapes.h"
#include "picture/spacing.h"

namespace drycrank::picture {
namespace {

bool IsDigit(char name) { return name >= '0' && name <= '9'; }

StandingNumber Standing(const SeenNumber& number) {
  StandingNumber out;
  for (const SeenSign& sign : number.signs) {
    const Blob& blob = sign.blob;
    out.push_back({sign.name, static_cast<double>(blob.left), blob.right + 1.0,
                   static_cast<double>(blob.height())});
  }
  return out;
}

// By readout: each has one lettering. Where it showed ones alone, as all others.
std::map<std::string, double> DigitWidths(const std::vector<SeenNumber>& numbers) {
  std::map<std::string, std::vector<StandingNumber>> by_readout;
  std::vector<StandingNumber> all;
  for (const SeenNumber& number : numbers) {
    by_readout[number.readout].push_back(Standing(number));
    all.push_back(Standing(number));
  }
  std::map<std::string, double> out;
  for (const auto& [readout, its] : by_readout) {
    const double width = DigitWidth(its);
    out[readout] = width > 0 ? width : DigitWidth(all);
  }
  return out;
}

// Of each number the digit that no other bears out, or nothing.
std::vector<char> Alone(const std::vector<SeenNumber>& numbers, bool must_have_other) {
  std::vector<PlacedDigit> digits;
  std::vector<std::size_t> of;
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    for (const SeenSign& sign : numbers[i].signs) {
      if (!IsDigit(sign.name)) continue;
      const double middle = (sign.blob.left + sign.blob.right) / 2.0 / sign.blob.height();
      digits.push_back({sign.name, numbers[i].readout, middle, sign.shape});
      of.push_back(i);
    }
  }
  const std::vector<bool> borne_out = AreBorneOut(digits, must_have_other);
  std::vector<char> out(numbers.size(), '\0');
  for (std::size_t i = 0; i < digits.size(); ++i) {
    if (!borne_out[i]) out[of[i]] = digits[i].name;
  }
  return out;
}

}  // namespace

std::vector<std::string> WhyNotBeside(const std::vector<SeenNumber>& numbers,
                                      std::size_t looked_at) {
  std::map<std::string, double> widths = DigitWidths(numbers);
  const std::vector<char> alone = Alone(numbers, looked_at >= kManyFields);
  std::vector<std::string> out;
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    const SeenNumber& number = numbers[i];
    std::string why = WhySpacing(Standing(number), widths[number.readout], number.must_have_point);
    if (why.empty() && alone[i] != '\0') {
      why = fmt::format("the other digits do not bear out its {}", alone[i]);
    }
    out.push_back(why.empty() ? "" : fmt::format("{} was read, and {}", number.text, why));
  }
  return out;
}

}  // namespace drycrank::picture
