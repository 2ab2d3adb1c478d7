// SPDX-License-Identifier: Apache-2.0
//
// Which column of a spreadsheet says what. The user names columns by their headings; the others are
// guessed from common words of English and German headings ("From pin", "Nach Stecker",
// "Querschnitt [mm²]"). Two headings without a side ("Pin", "Pin") are from and to, in this order.
#ifndef DRYCRANK_SCHEDULE_COLUMNS_H_
#define DRYCRANK_SCHEDULE_COLUMNS_H_

#include <array>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "types/nth.h"
#include "yaml/csv_records.h"

namespace drycrank::schedule {

enum class Column {
  kFromConnector,
  kFromPin,
  kToConnector,
  kToPin,
  kCircuit,
  kGauge,
  kColour,
  kLength,
  kSplice,
  kTwist,
  kFuse,
  kNotes,
};
inline constexpr int kColumnCount = 12;

// "from_connector", ...: the words of --column.
std::string_view NameOf(Column column);
std::optional<Column> ColumnNamed(std::string_view name);

struct TakenColumn {
  int index = -1;       // of the record's fields; -1: the sheet has no such column
  std::string heading;  // as written
  std::string unit;     // that the heading states: "mm", "mm2", "AWG"; empty: none
  bool guessed = false;
};

struct Headings {
  std::array<TakenColumn, kColumnCount> taken;
  std::vector<std::string> passed_over;  // headings of columns that are not read
  int score = 0;                         // how many columns were taken

  const TakenColumn& operator[](Column column) const { return Nth(taken, column); }
  // Both ends of a wire can be read.
  bool complete() const;
};

// `named`: column -> heading as the user gave it (compared without case and outer spaces). A
// heading that the record does not have is a problem for the caller: it stays untaken.
Headings TakeColumns(const yaml::CsvRecord& record, const std::map<Column, std::string>& named);

// Lower case, umlauts written out, everything but letters, digits, + and # to single spaces.
std::string Plain(std::string_view text);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_COLUMNS_H_
