// SPDX-License-Identifier: Apache-2.0
#include "picture/believe.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace drycrank::picture {
namespace {

constexpr double kLeastConfidence = 0.7;  // of each character, in both readings
constexpr double kLeastOfWord = 0.5;      // of a word, which must be one of few
constexpr int kReadingsThatAgree = 2;
// Of the digits' height. From ink to ink, and of digits from middle to middle: all digits of one
// number have the same room in most displays, and a point has a third of it. Common practice, no
// source.
constexpr double kGap = 0.6, kApart = 1.08, kApartDiffer = 0.26, kBump = 0.1;
// From the outermost ink to the edge of the mark: two digits stand nearer, so none was cut off
// there.
constexpr double kRim = 0.2;
constexpr double kUneven = 0.14;  // digits of one number are equally high, within this

std::string WithoutSpaces(std::string text) {
  std::erase(text, ' ');
  return text;
}

// A 7 is wide above and narrow below; a 1 is anything else.
bool IsLikeSeven(const Blob& blob) {
  return blob.top_share > 0.8 && blob.bottom_share < 0.65 && blob.width() > 0.4 * blob.height();
}

// A point that melted into a digit is a bump at its foot. A 1 may stand on a foot, equally to both
// sides.
bool HasBump(const Blob& blob, char digit, double height) {
  const double most = kBump * height;
  if (digit == '1') return std::abs(blob.step_left - blob.step_right) > most;
  return blob.foot_left > most || blob.foot_right > most;
}

// Where a point, or a digit, might have stood and is not seen: the signs stand further apart than
// signs do.
std::string WhyApart(const InkField& field, const std::string& text, double height) {
  double least = 1e9, most = 0, widest = 0;
  for (std::size_t i = 0; i + 1 < field.blobs.size(); ++i) {
    const Blob &a = field.blobs[i], &b = field.blobs[i + 1];
    widest = std::max(widest, (b.left - a.right) / height);
    if (field.signs[i] != Sign::kCharacter || field.signs[i + 1] != Sign::kCharacter) continue;
    const double apart = (b.left + b.right - a.left - a.right) / 2.0 / height;
    least = std::min(least, apart);
    most = std::max(most, apart);
  }
  const bool is_wide = most > kApart || most - least > kApartDiffer;
  if (is_wide) return fmt::format("{} was read, and a point might have stood in it", text);
  return widest > kGap ? fmt::format("{} was read, and there is a gap in it", text) : "";
}

// Why the ink is not that number; empty: it is.
std::string WhyNotNumber(const InkField& field, const std::string& text) {
  if (field.blobs.size() != text.size()) {
    return fmt::format("{} was read, and there are {} pieces of ink", text, field.blobs.size());
  }
  int least = 1 << 20, most = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const Sign due = text[i] == '.'   ? Sign::kPoint
                     : text[i] == '-' ? Sign::kDash
                                      : Sign::kCharacter;
    if (field.signs[i] != due) return fmt::format("{} was read, and its signs differ", text);
    if (due != Sign::kCharacter) continue;
    least = std::min(least, field.blobs[i].height());
    most = std::max(most, field.blobs[i].height());
    if ((text[i] == '7' || text[i] == '1') && IsLikeSeven(field.blobs[i]) != (text[i] == '7')) {
      return fmt::format("{} was read, and its {} has another shape", text, text[i]);
    }
    const int holes = HolesOf(text[i]);
    if (holes >= 0 && field.blobs[i].holes != holes) {
      return fmt::format("{} was read, and its {} has {} holes", text, text[i],
                         field.blobs[i].holes);
    }
  }
  if (least < (1 - kUneven) * most) return fmt::format("{} was read, of unequal height", text);
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (field.signs[i] == Sign::kCharacter && HasBump(field.blobs[i], text[i], most)) {
      return fmt::format("{} was read, and its {} has a bump like a point", text, text[i]);
    }
  }
  const std::size_t first = text.front() == '-' ? 1 : 0;
  if (text[first] == '0' && first + 1 < text.size() && text[first + 1] != '.') {
    return fmt::format("{} was read, and a point might be lost behind its first 0", text);
  }
  const double rim =
      std::min(field.blobs.front().left, field.even.width - 1 - field.blobs.back().right);
  if (rim < kRim * most) return fmt::format("{} was read, near the edge of its mark", text);
  return WhyApart(field, text, most);
}

// Letters hang together in some hands, and i has a dot of its own: only all holes of a word are
// counted.
std::string WhyNotWord(const InkField& field, const std::string& word) {
  int due = 0, seen = 0;
  bool known = true;
  for (const char c : word) {
    known = known && HolesOf(c) >= 0;
    due += std::max(0, HolesOf(c));
  }
  for (const Blob& blob : field.blobs) seen += blob.holes;
  if (known && due != seen) return fmt::format("{} was read, and there are {} holes", word, seen);
  const bool too_few =
      field.blobs.size() > word.size() + static_cast<std::size_t>(std::ranges::count(word, 'i'));
  return too_few ? fmt::format("{} was read, and there is more ink", word) : "";
}

// One reading beside the ink.
FieldReading Judge(const InkField& field, const Spelled& one, const TextWish& wish) {
  const auto name = std::ranges::find_if(
      wish.names, [&](const std::string& n) { return WithoutSpaces(n) == one.text; });
  if (name != wish.names.end()) return {*name, one.confidence, WhyNotWord(field, one.text)};
  if (IsNumber(one.text)) return {one.text, one.confidence, WhyNotNumber(field, one.text)};
  return {"", 0, fmt::format("'{}' is no number, and no word that may stand there", one.text)};
}

}  // namespace

bool IsNumber(const std::string& text) {
  const std::string_view digits = std::string_view(text).substr(text.starts_with('-') ? 1 : 0);
  const auto point = digits.find('.');
  return !digits.empty() && digits.find_first_not_of("0123456789.") == std::string_view::npos &&
         digits.front() != '.' && digits.back() != '.' &&
         (point == std::string_view::npos || digits.find('.', point + 1) == std::string_view::npos);
}

FieldReading DashesIn(const InkField& field, const TextWish& wish) {
  const auto is_dash = [](Sign sign) { return sign == Sign::kDash; };
  if (!std::ranges::all_of(field.signs, is_dash)) return {};
  const bool as_said = wish.dashes == std::string(field.blobs.size(), '-');
  if (as_said && field.blobs.size() > 1) return {wish.dashes, 1 - field.noise, ""};
  return {"", 0, fmt::format("{} dashes", field.blobs.size())};
}

FieldReading Believe(const InkField& field, const std::vector<Spelled>& all, const TextWish& wish) {
  FieldReading believed;
  std::string doubt;
  int agreed = 0;
  for (const Spelled& one : all) {
    FieldReading judged = Judge(field, one, wish);
    if (!judged.doubt.empty()) {
      if (doubt.empty()) doubt = std::move(judged.doubt);
      continue;
    }
    if (!believed.text.empty() && judged.text != believed.text) {
      return {"", 0, fmt::format("'{}' or '{}'", believed.text, judged.text)};
    }
    believed.confidence = std::max(believed.confidence, judged.confidence);
    believed.text = judged.text;
    const double least = IsNumber(judged.text) ? kLeastConfidence : kLeastOfWord;
    if (judged.confidence >= least) {
      ++agreed;
    } else {
      doubt = fmt::format("'{}', perhaps", judged.text);
    }
  }
  if (agreed < kReadingsThatAgree) {
    believed.doubt = doubt.empty() ? fmt::format("'{}', read once only", believed.text) : doubt;
  }
  return believed;
}

}  // namespace drycrank::picture
