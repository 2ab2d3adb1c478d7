// SPDX-License-Identifier: Apache-2.0
//
// RFC 4180, clause 2, rule by rule, and what spreadsheets make of it.
#include "yaml/csv_records.h"

#include <gtest/gtest.h>

namespace drycrank::yaml {
namespace {

using Rows = std::vector<std::vector<std::string>>;

Rows TextOf(const CsvTable& table) {
  Rows rows;
  for (const CsvRecord& record : table.records) {
    rows.emplace_back();
    for (const CsvField& field : record.fields) rows.back().push_back(field.text);
  }
  return rows;
}

Rows Read(std::string_view text, char separator = ',') {
  const CsvTable table = ReadCsv("a.csv", text, separator);
  for (const Diagnostic& problem : table.problems) ADD_FAILURE() << Format(problem);
  return TextOf(table);
}

TEST(CsvRecords, FollowTheRulesOfRfc4180) {
  EXPECT_EQ(Read("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"),
            (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));                // rule 1
  EXPECT_EQ(Read("aaa,bbb\r\nzzz,yyy"), (Rows{{"aaa", "bbb"}, {"zzz", "yyy"}}));  // rule 2
  EXPECT_EQ(Read("\"aaa\",\"b \r\nbb\",\"ccc\"\r\nzzz,yyy,xxx"),
            (Rows{{"aaa", "b \nbb", "ccc"}, {"zzz", "yyy", "xxx"}}));               // rules 5 and 6
  EXPECT_EQ(Read("\"aaa\",\"b\"\"bb\",\"ccc\""), (Rows{{"aaa", "b\"bb", "ccc"}}));  // rule 7
}

TEST(CsvRecords, TakeWhatSpreadsheetsWrite) {
  EXPECT_EQ(Read("\xEF\xBB\xBF"
                 "a;b\n\n# a remark\n\"1,5\" ;67\"\r2;3",
                 ';'),
            (Rows{{"a", "b"}, {"1,5", "67\""}, {"2", "3"}}));
  EXPECT_EQ(Read("#,From\n1,CLT\n"), (Rows{{"#", "From"}, {"1", "CLT"}}));
  EXPECT_EQ(Read("a\t\tb\t", '\t'), (Rows{{"a", "", "b", ""}}));
}

TEST(CsvRecords, KnowWhereAFieldStands) {
  const CsvTable table = ReadCsv("a.csv",
                                 "\xEF\xBB\xBF"
                                 "a,b\r\n\"x\ny\", z\n",
                                 ',');
  ASSERT_EQ(table.records.size(), 2u);
  EXPECT_EQ(table.records[0].fields[1].column, 3);
  EXPECT_EQ(table.records[1].fields[0].line, 2);
  EXPECT_EQ(table.records[1].fields[1].line, 3);
  EXPECT_EQ(table.records[1].fields[1].column, 5);
}

TEST(CsvRecords, EndAnOpenQuoteWithItsLine) {
  const CsvTable table = ReadCsv("a.csv", "a,b\n1,\"two\n3,4\n", ',');
  EXPECT_EQ(TextOf(table), (Rows{{"a", "b"}, {"1", "two"}, {"3", "4"}}));
  ASSERT_EQ(table.problems.size(), 1u);
  EXPECT_EQ(Format(table.problems[0]),
            "a.csv:2:3: the quote that opens here is not closed; close it; a quote that belongs to "
            "the text is written twice");
}

TEST(CsvRecords, RefuseTextBehindAClosingQuote) {
  const CsvTable table = ReadCsv("a.csv", "\"a\"b,c\n", ',');
  ASSERT_EQ(table.problems.size(), 1u);
  EXPECT_EQ(table.problems[0].place, (Place{"a.csv", 1, 4}));
}

// Each is a mebibyte, the most that a file may have.
TEST(CsvRecords, StayBoundedOnHostileText) {
  const std::size_t size = std::size_t{1} << 20;
  const CsvTable columns = ReadCsv("a.csv", std::string(size, ','), ',');
  EXPECT_TRUE(columns.records.empty());
  ASSERT_EQ(columns.problems.size(), 1u);
  EXPECT_EQ(columns.problems[0].what, "more than 256 columns");

  const CsvTable field = ReadCsv("a.csv", std::string(size, 'x'), ',');
  ASSERT_EQ(field.problems.size(), 1u);
  EXPECT_EQ(field.records[0].fields[0].text.size(), kMaxCsvFieldBytes);

  std::string quotes;
  while (quotes.size() < size) quotes += "\"a\"b\n";
  const CsvTable quoted = ReadCsv("a.csv", quotes, ',');
  EXPECT_EQ(quoted.problems.size(), kMaxCsvProblems + 1);

  std::string lines;
  while (lines.size() < size) lines += "a\n";
  const CsvTable many = ReadCsv("a.csv", lines, ',');
  EXPECT_EQ(many.records.size(), kMaxCsvRecords);
  ASSERT_EQ(many.problems.size(), 1u);
}

}  // namespace
}  // namespace drycrank::yaml
