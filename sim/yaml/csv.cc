// SPDX-License-Identifier: Apache-2.0
#include "yaml/csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "types/nth.h"
#include "yaml/csv_records.h"

namespace drycrank::yaml {
namespace {

// Records with something in them, spaces around the fields removed.
std::vector<CsvRecord> Records(Problems& problems, const std::string& file,
                               const std::string& text) {
  CsvTable table = ReadCsv(file, text, ',');
  for (Diagnostic& problem : table.problems) {
    problems.Add(std::move(problem.place), std::move(problem.what), std::move(problem.remedy));
  }
  std::erase_if(table.records, [](const CsvRecord& record) {
    return record.fields.size() == 1 && record.fields.front().text.empty();
  });
  return std::move(table.records);
}

int ColumnOf(Problems& problems, const std::vector<CsvField>& header, const Ref& name) {
  std::vector<std::string> known;
  for (const CsvField& field : header) known.push_back(field.text);
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
  const std::vector<CsvRecord> lines = Records(problems, file, text);
  if (lines.size() < 3) {
    problems.Add({file, 1, 1},
                 fmt::format("{} lines with data", lines.empty() ? 0 : lines.size() - 1),
                 "name the columns in the first line and write at least two more");
    return {};
  }
  const std::vector<CsvField>& header = lines.front().fields;
  const int x_at = ColumnOf(problems, header, x);
  const int y_at = ColumnOf(problems, header, y);
  if (x_at < 0 || y_at < 0) return {};
  Points points;
  for (std::size_t i = 1; i < lines.size(); ++i) {
    const std::vector<CsvField>& fields = lines[i].fields;
    if (fields.size() != header.size()) {
      problems.Add(
          {file, lines[i].line, 1},
          fmt::format("{} fields where the first line has {}", fields.size(), header.size()),
          "separate fields by commas; write decimal points");
      continue;
    }
    const auto number = [&](int at, const Ref& name, const Range& range) {
      const CsvField& field = Nth(fields, at);
      NumberResult result = ParseNumber(field.text, range);
      if (!result.value) {
        problems.Add({file, lines[i].line, field.column},
                     fmt::format("'{}' {}", name.text, result.what), std::move(result.remedy));
      }
      return result.value;
    };
    const auto px = number(x_at, x, x_range);
    const auto py = number(y_at, y, y_range);
    if (!px || !py) continue;
    if (!points.empty() && *px <= points.back().first) {
      problems.Add({file, lines[i].line, 1},
                   fmt::format("'{}' goes from {:g} to {:g}", x.text, points.back().first, *px),
                   "sort the lines by it, each once");
      continue;
    }
    points.emplace_back(*px, *py);
  }
  return points;
}

}  // namespace drycrank::yaml
