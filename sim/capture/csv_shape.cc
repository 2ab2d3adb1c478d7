// SPDX-License-Identifier: Apache-2.0
#include "capture/csv_shape.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <iterator>

namespace drycrank::capture {
namespace {

constexpr std::string_view kSeparators = ";\t|, ";

std::string_view Bare(std::string_view field) {
  constexpr std::string_view kAround = " \t\r\"";
  const auto begin = field.find_first_not_of(kAround);
  if (begin == std::string_view::npos) return {};
  return field.substr(begin, field.find_last_not_of(kAround) - begin + 1);
}

// Columns of numbers; 0: not all of them are.
std::size_t NumbersIn(std::string_view line, char separator, char decimal) {
  std::vector<std::string_view> fields;
  SplitFields(line, separator, fields);
  if (fields.size() > 1 && fields.back().empty()) fields.pop_back();
  const bool all = std::ranges::all_of(
      fields, [&](std::string_view field) { return NumberOf(field, decimal).has_value(); });
  return all ? fields.size() : 0;
}

// Columns that this line and the next, where there is one, both have.
std::size_t ColumnsAt(const std::vector<std::string>& lines, std::size_t at, char separator,
                      char decimal) {
  const std::size_t count = NumbersIn(lines[at], separator, decimal);
  std::size_t next = at + 1;
  while (next < lines.size() && (lines[next].empty() || lines[next].front() == '#')) ++next;
  if (count == 0 || next >= lines.size()) return count;
  return NumbersIn(lines[next], separator, decimal) == count ? count : 0;
}

// Lines from `at` on that are numbers with this decimal point: the first ones may have none.
std::size_t LinesOfNumbers(const std::vector<std::string>& lines, std::size_t at, char separator,
                           char decimal) {
  std::size_t count = 0;
  for (std::size_t i = at; i < lines.size(); ++i)
    count += NumbersIn(lines[i], separator, decimal) > 0 ? 1 : 0;
  return count;
}

char DecimalOf(const std::vector<std::string>& lines, std::size_t at, char separator) {
  if (separator == ',') return '.';
  return LinesOfNumbers(lines, at, separator, ',') > LinesOfNumbers(lines, at, separator, '.')
             ? ','
             : '.';
}

// "(ms)", "[V]", "in ms" as "ms".
std::string UnitIn(std::string_view field) {
  const auto open = field.find_last_of("([");
  if (open == std::string_view::npos || field.size() < 2) return std::string(field);
  return std::string(Bare(field.substr(open + 1, field.size() - open - 2)));
}

bool IsUnit(std::string_view field) {
  static constexpr std::array<std::string_view, 20> kUnits = {
      "s", "ms", "us", "µs",   "μs",    "ns",      "V",      "mV",     "uV", "kV",
      "A", "mA", "kA", "Volt", "volts", "seconds", "second", "Ampere", "",   "%"};
  return std::ranges::find(kUnits, field) != kUnits.end();
}

void NameColumns(const std::vector<std::string>& lines, std::size_t columns, CsvShape& shape) {
  std::vector<std::vector<std::string_view>> heads;
  for (std::size_t i = 0; i < shape.first_line; ++i) {
    std::vector<std::string_view> fields;
    SplitFields(lines[i], shape.separator, fields);
    if (fields.size() == columns + 1 && fields.back().empty()) fields.pop_back();
    if (fields.size() == columns && !lines[i].empty()) heads.push_back(fields);
  }
  shape.names.resize(columns);
  shape.units.resize(columns);
  const auto is_units = [](const std::vector<std::string_view>& head) {
    return std::ranges::all_of(head, [](std::string_view f) { return IsUnit(UnitIn(f)); });
  };
  const bool has_units = heads.size() > 1 && is_units(heads.back());
  const std::size_t named = heads.size() - (has_units ? 2 : 1);
  for (std::size_t c = 0; c < columns && !heads.empty(); ++c) {
    const std::string_view name = heads[named][c];
    if (has_units) shape.units[c] = UnitIn(heads.back()[c]);
    const auto open = name.find_last_of("([");
    if (open == std::string_view::npos || !IsUnit(UnitIn(name))) {
      shape.names[c] = std::string(name);
      continue;
    }
    shape.names[c] = std::string(Bare(name.substr(0, open)));
    if (!has_units) shape.units[c] = UnitIn(name);
  }
}

// Digits with a decimal point among them, as nearly all are: a whole number below 2^53 over a power
// of ten up to 10^22, both exact in a double, so that the one division rounds as it must (Clinger,
// "How to read floating point numbers accurately", 1990). Nothing: it is written otherwise.
std::optional<double> PlainNumber(std::string_view field, char decimal) {
  static constexpr double kPowers[] = {1,   1e1, 1e2, 1e3,  1e4,  1e5,  1e6,  1e7,
                                       1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
  const bool is_negative = field.starts_with('-');
  if (is_negative) field.remove_prefix(1);
  if (field.empty() || field.size() > std::size(kPowers)) return std::nullopt;
  std::uint64_t digits = 0;
  std::size_t point = field.size();
  for (std::size_t i = 0; i < field.size(); ++i) {
    const char c = field[i];
    if (c >= '0' && c <= '9') {
      digits = digits * 10 + static_cast<std::uint64_t>(c - '0');
    } else if (c == decimal && point == field.size() && i > 0 && i + 1 < field.size()) {
      point = i;
    } else {
      return std::nullopt;
    }
  }
  const std::size_t behind = point == field.size() ? 0 : field.size() - point - 1;
  const double number = static_cast<double>(digits) / kPowers[behind];
  return is_negative ? -number : number;
}

}  // namespace

void SplitFields(std::string_view line, char separator, std::vector<std::string_view>& fields) {
  fields.clear();
  if (separator == ' ') line = Bare(line);
  for (;;) {
    std::size_t end = 0;  // fields are short: no call for each
    while (end < line.size() && line[end] != separator) ++end;
    if (end == line.size()) end = std::string_view::npos;
    fields.push_back(Bare(line.substr(0, end)));
    if (end == std::string_view::npos) return;
    line.remove_prefix(end + 1);
    while (separator == ' ' && line.starts_with(' ')) line.remove_prefix(1);
  }
}

std::optional<double> NumberOf(std::string_view field, char decimal) {
  if (const auto plain = PlainNumber(field, decimal)) return plain;
  std::array<char, 64> copy{};
  if (field.starts_with('+')) field.remove_prefix(1);
  if (field.empty() || field.size() > copy.size()) return std::nullopt;
  if (decimal != '.') {
    std::ranges::copy(field, copy.begin());
    if (std::find(copy.begin(), copy.begin() + field.size(), '.') != copy.begin() + field.size())
      return std::nullopt;
    std::replace(copy.begin(), copy.begin() + field.size(), decimal, '.');
    field = {copy.data(), field.size()};
  }
  double number = 0;
  const auto [end, error] = std::from_chars(field.data(), field.data() + field.size(), number);
  if (error != std::errc() || end != field.data() + field.size() || !std::isfinite(number))
    return std::nullopt;
  return number;
}

double NsPer(std::string_view unit) {
  static constexpr std::pair<std::string_view, double> kUnits[] = {
      {"s", 1e9},  {"sec", 1e9}, {"second", 1e9}, {"seconds", 1e9}, {"ms", 1e6},
      {"us", 1e3}, {"µs", 1e3},  {"μs", 1e3},     {"ns", 1}};
  for (const auto& [name, ns] : kUnits) {
    if (unit == name) return ns;
  }
  return 0;
}

std::optional<CsvShape> ShapeOf(const std::vector<std::string>& lines) {
  // Before the first line of numbers; of one column alone when no separator gives more.
  for (std::size_t at = 0; at < lines.size(); ++at) {
    for (const char separator : kSeparators) {
      if (lines[at].find(separator) == std::string::npos) continue;
      const char decimal = DecimalOf(lines, at, separator);
      const std::size_t columns = ColumnsAt(lines, at, separator, decimal);
      if (columns < 2) continue;
      CsvShape shape{separator, decimal, at, {}, {}};
      NameColumns(lines, columns, shape);
      return shape;
    }
    const char decimal = DecimalOf(lines, at, ';');
    if (ColumnsAt(lines, at, ';', decimal) != 1 || at + 1 >= lines.size()) continue;
    CsvShape shape{';', decimal, at, {}, {}};
    NameColumns(lines, 1, shape);
    return shape;
  }
  return std::nullopt;
}

}  // namespace drycrank::capture
