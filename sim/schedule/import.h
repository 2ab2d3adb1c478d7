// SPDX-License-Identifier: Apache-2.0
//
// A spreadsheet's CSV to a schedule. Separator, heading line and columns are found; each line below
// is a wire. What cannot be read is said with its place, and the rest is kept: a wire whose ends
// are readable stays, with the cells that were.
//
// An end is a terminal (connector and pin, in two columns or one) or a splice: a name without pin.
// The column `splice` names the splice of an end that is left empty.
#ifndef DRYCRANK_SCHEDULE_IMPORT_H_
#define DRYCRANK_SCHEDULE_IMPORT_H_

#include <map>
#include <string>

#include "schedule/columns.h"
#include "schedule/schedule.h"

namespace drycrank::schedule {

struct [[nodiscard]] Imported {
  Schedule schedule;
  bool is_readable = false;  // a heading line with both ends was found
  char separator = ',';
  int heading_line = 0;
  Headings headings;
  Diagnostics problems;  // what could not be read
  Diagnostics notes;     // lines that were passed over, or taken otherwise than written
  std::map<std::string, std::string> renamed;  // as written -> as the profile takes it
};

// `text` is UTF-8 without control characters (yaml/utf8.h).
Imported ImportCsv(const std::string& file, const std::string& text,
                   const std::map<Column, std::string>& named = {});

// What was taken for what, one line per column, for people.
std::string ColumnsText(const Imported& imported);

// The harness as a part that a bench can `include:` (connectors, splices, wires). Pins are counted
// up to the highest that a wire has.
std::string HarnessYaml(const Schedule& schedule);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_IMPORT_H_
