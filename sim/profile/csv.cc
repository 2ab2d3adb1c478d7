// SPDX-License-Identifier: Apache-2.0
#include "profile/csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <vector>

namespace drycrank::profile {
namespace {

struct Field {
  std::string text;
  int column = 1;
};

std::string Trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  text = text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
  if (text.size() >= 2 && text.front() == '"' && text.back() == '"') {
    text = text.substr(1, text.size() - 2);
  }
  return std::string(text);
}

std::vector<Field> Split(std::string_view line) {
  std::vector<Field> fields;
  std::size_t begin = 0;
  bool quoted = false;
  for (std::size_t i = 0; i <= line.size(); ++i) {
    if (i < line.size() && line[i] == '"') quoted = !quoted;
    if (i < line.size() && (line[i] != ',' || quoted)) continue;
    fields.push_back({Trimmed(line.substr(begin, i - begin)), static_cast<int>(begin) + 1});
    begin = i + 1;
  }
  return fields;
}

// Lines with something on them, and their numbers.
struct Line {
  std::string_view text;
  int number;
};
std::vector<Line> Lines(std::string_view text) {
  std::vector<Line> lines;
  for (int number = 1; !text.empty(); ++number) {
    const auto end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    if (!Trimmed(line).empty() && line.front() != '#') lines.push_back({line, number});
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return lines;
}

int ColumnOf(Problems& problems, const std::vector<Field>& header, const Ref& name) {
  std::vector<std::string> known;
  for (const Field& field : header) known.push_back(field.text);
  const auto at = std::find(known.begin(), known.end(), name.text);
  if (at != known.end()) return static_cast<int>(at - known.begin());
  problems.Add(name.place, fmt::format("the file has no column '{}'", name.text),
               known.size() == 1 ? "separate columns by commas; columns: " + known.front()
                                 : fmt::format("columns: {}", fmt::join(known, ", ")));
  return -1;
}

}  // namespace

Points ReadCsvPoints(Problems& problems, const std::string& file, const std::string& text,
                     const Ref& x, const Ref& y, const Range& x_range, const Range& y_range) {
  const std::vector<Line> lines = Lines(text);
  if (lines.size() < 3) {
    problems.Add({file, 1, 1},
                 fmt::format("{} lines with data", lines.empty() ? 0 : lines.size() - 1),
                 "name the columns in the first line and write at least two more");
    return {};
  }
  const std::vector<Field> header = Split(lines.front().text);
  const int x_at = ColumnOf(problems, header, x);
  const int y_at = ColumnOf(problems, header, y);
  if (x_at < 0 || y_at < 0) return {};
  Points points;
  for (std::size_t i = 1; i < lines.size(); ++i) {
    const std::vector<Field> fields = Split(lines[i].text);
    if (fields.size() != header.size()) {
      problems.Add(
          {file, lines[i].number, 1},
          fmt::format("{} fields where the first line has {}", fields.size(), header.size()),
          "separate fields by commas; write decimal points");
      continue;
    }
    const auto number = [&](int at, const Ref& name, const Range& range) {
      const Field& field = fields[static_cast<std::size_t>(at)];
      NumberResult result = ParseNumber(field.text, range);
      if (!result.value) {
        problems.Add({file, lines[i].number, field.column},
                     fmt::format("'{}' {}", name.text, result.what), std::move(result.remedy));
      }
      return result.value;
    };
    const auto px = number(x_at, x, x_range);
    const auto py = number(y_at, y, y_range);
    if (!px || !py) continue;
    if (!points.empty() && *px <= points.back().first) {
      problems.Add({file, lines[i].number, 1},
                   fmt::format("'{}' goes from {:g} to {:g}", x.text, points.back().first, *px),
                   "sort the lines by it, each once");
      continue;
    }
    points.emplace_back(*px, *py);
  }
  return points;
}

}  // namespace drycrank::profile
