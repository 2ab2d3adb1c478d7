// SPDX-License-Identifier: Apache-2.0
//
// Numbers with units, whole numbers, words and broken lines: the values of yaml_reader.h.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "types/limits.h"
#include "types/unit.h"
#include "yaml/reader.h"

namespace drycrank::yaml {
namespace {

std::string WithUnit(double value, std::string_view unit) {
  return unit.empty() ? fmt::format("{:g}", value) : fmt::format("{:g} {}", value, unit);
}

std::string Join(const std::vector<std::string>& words) {
  return fmt::format("{}", fmt::join(words, ", "));
}

// "a number in degC (also K, degF)".
std::string Wanted(const Range& range) {
  if (range.unit.empty()) return "write a plain number";
  return fmt::format("write a number in {}, or with one of the units {}", range.unit,
                     Join(UnitsLike(range.unit)));
}

std::string Limits(const Range& range) {
  return fmt::format("{:g} to {} is possible", range.min, WithUnit(range.max, range.unit));
}

std::optional<std::int64_t> ParseInt(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  const bool hex = text.starts_with("0x") || text.starts_with("0X");
  if (hex) text.remove_prefix(2);
  if (hex && text.starts_with('-')) return std::nullopt;
  std::int64_t value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value, hex ? 16 : 10);
  if (error != std::errc() || stop != end) return std::nullopt;
  return value;
}

}  // namespace

NumberResult ParseNumber(const std::string& text, const Range& range) {
  const auto number = ParseNumberWithUnit(text);
  if (!number) return {std::nullopt, "is '" + text.substr(0, 40) + "'", Wanted(range)};
  if (number->unit.starts_with(',')) {
    return {std::nullopt, "is '" + text.substr(0, 40) + "'", "write a decimal point, not a comma"};
  }
  double value = number->value;
  if (!number->unit.empty() && range.unit.empty()) {
    return {std::nullopt, fmt::format("has the unit '{}' where none belongs", number->unit),
            Wanted(range)};
  }
  if (!number->unit.empty()) {
    const auto converted = range.is_difference ? ConvertDifference(value, number->unit, range.unit)
                                               : Convert(value, number->unit, range.unit);
    if (!converted) {
      const bool known = CanonicalUnit(number->unit).has_value();
      return {std::nullopt,
              known ? fmt::format("is '{}', which does not convert to {}", text, range.unit)
                    : fmt::format("has the unit '{}', which is not known", number->unit),
              Wanted(range)};
    }
    value = *converted;
  }
  // A limit written in another unit may miss it by rounding: 5 bar of 500 kPa.
  const auto slack = [](double limit) { return 1e-9 * std::max(1.0, std::abs(limit)); };
  if (!(value >= range.min - slack(range.min) && value <= range.max + slack(range.max))) {
    return {std::nullopt, "is " + WithUnit(value, range.unit), Limits(range)};
  }
  return {std::clamp(value, range.min, range.max), {}, {}};
}

std::optional<double> ReadNumber(Problems& problems, const Node& node, const std::string& what,
                                 const Range& range) {
  if (node.kind != NodeKind::kScalar) {
    problems.Add(node.Where(), fmt::format("{} is {}", what, KindName(node)), Wanted(range));
    return std::nullopt;
  }
  NumberResult result = ParseNumber(node.text, range);
  if (!result.value) {
    problems.Add(node.Where(), fmt::format("{} {}", what, result.what), std::move(result.remedy));
  }
  return result.value;
}

std::optional<std::int64_t> ReadInt(Problems& problems, const Node& node, const std::string& what,
                                    std::int64_t min, std::int64_t max) {
  const auto value = node.kind == NodeKind::kScalar ? ParseInt(node.text) : std::nullopt;
  if (!value) {
    problems.Add(node.Where(),
                 node.kind == NodeKind::kScalar
                     ? fmt::format("{} is '{}'", what, node.text.substr(0, 40))
                     : fmt::format("{} is {}", what, KindName(node)),
                 fmt::format("write a whole number, {} to {}", min, max));
    return std::nullopt;
  }
  if (*value < min || *value > max) {
    problems.Add(node.Where(), fmt::format("{} is {}", what, node.text),
                 fmt::format("{} to {} is possible", min, max));
    return std::nullopt;
  }
  return value;
}

std::optional<Ref> ReadRef(Problems& problems, const Node& node, const std::string& what) {
  if (node.kind == NodeKind::kScalar && !node.text.empty() &&
      node.text.size() <= 4 * kMaxNameLength) {
    return Ref{node.text, node.Where()};
  }
  problems.Add(node.Where(),
               node.kind == NodeKind::kScalar ? what + " is empty or very long"
                                              : fmt::format("{} is {}", what, KindName(node)),
               "write a name");
  return std::nullopt;
}

bool ReadPoints(Problems& problems, const Node& node, const std::string& what, const Range& x,
                const Range& y, Points* out) {
  if (node.kind != NodeKind::kList || node.items.size() < 2) {
    problems.Add(node.Where(),
                 node.kind == NodeKind::kList
                     ? fmt::format("{} has {} points", what, node.items.size())
                     : fmt::format("{} is {}", what, KindName(node)),
                 "write at least two points, as [[0, 10], [1, 20]]");
    return false;
  }
  Points points;
  bool good = true;
  for (const Node& item : node.items) {
    if (item.kind != NodeKind::kList || item.items.size() != 2) {
      problems.Add(item.Where(), fmt::format("a point of {} is not a pair", what),
                   "write two numbers, as [0, 10]");
      good = false;
      continue;
    }
    const auto px = ReadNumber(problems, item.items[0], "a point of " + what, x);
    const auto py = ReadNumber(problems, item.items[1], "a point of " + what, y);
    if (px && !points.empty() && *px <= points.back().first) {
      problems.Add(item.Where(),
                   fmt::format("{} goes from {:g} to {:g}", what, points.back().first, *px),
                   "sort the points by their first number, each once");
      good = false;
    }
    good = good && px && py;
    if (px && py) points.emplace_back(*px, *py);
  }
  if (good) *out = std::move(points);
  return good;
}

}  // namespace drycrank::yaml
