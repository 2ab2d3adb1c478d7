// SPDX-License-Identifier: Apache-2.0
//
// A CSV file as records of fields (RFC 4180): fields apart by one separator, quoted where they hold
// a separator, a line end or a quote (written twice). Read leniently, as spreadsheets write it: a
// byte-order mark, any of CR LF, LF, CR, a quote within an unquoted field ("67\"" is text), rows of
// different lengths. Lines that begin with # and empty lines are passed over.
//
// What is wrong is said with its place, and reading goes on: a quote that is never closed ends with
// its line. Memory is bounded by the limits here and by the size of the text.
#ifndef DRYCRANK_YAML_CSV_RECORDS_H_
#define DRYCRANK_YAML_CSV_RECORDS_H_

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::yaml {

inline constexpr std::size_t kMaxCsvFields = 256;       // of one record
inline constexpr std::size_t kMaxCsvFieldBytes = 2000;  // of one field
inline constexpr std::size_t kMaxCsvRecords = 10'000;
inline constexpr std::size_t kMaxCsvProblems = 100;

struct CsvField {
  std::string text;  // unquoted; spaces around an unquoted field removed
  int line = 1;
  int column = 1;  // bytes from 1
};

struct CsvRecord {
  int line = 1;
  std::vector<CsvField> fields;
};

struct [[nodiscard]] CsvTable {
  std::vector<CsvRecord> records;
  Diagnostics problems;
};

// `file` names it in problems. REQUIRES: separator is one of , ; tab.
CsvTable ReadCsv(const std::string& file, std::string_view text, char separator);

// `text` without the byte-order mark of UTF-8.
std::string_view WithoutByteOrderMark(std::string_view text);

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_CSV_RECORDS_H_
