// SPDX-License-Identifier: Apache-2.0
#include "yaml/csv_records.h"

#include <fmt/format.h>

namespace drycrank::yaml {
namespace {

bool IsBlank(char c) { return c == ' ' || c == '\t'; }

std::string Trimmed(std::string text) {
  while (!text.empty() && IsBlank(text.back())) text.pop_back();
  std::size_t first = 0;
  while (first < text.size() && IsBlank(text[first])) ++first;
  return text.substr(first);
}

class Parser {
 public:
  Parser(const std::string& file, std::string_view text, char separator)
      : file_(file), text_(WithoutByteOrderMark(text)), separator_(separator) {}

  CsvTable Parse() {
    while (at_ < text_.size() && !stopped_) ReadRecord();
    return std::move(table_);
  }

 private:
  bool AtEnd() const { return at_ >= text_.size(); }
  bool AtLineEnd() const { return AtEnd() || text_[at_] == '\n' || text_[at_] == '\r'; }
  int Column() const { return static_cast<int>(at_ - line_begin_) + 1; }

  void Complain(int line, int column, std::string what, std::string remedy) {
    if (table_.problems.size() >= kMaxCsvProblems) return;
    table_.problems.push_back({{file_, line, column}, std::move(what), std::move(remedy)});
    if (table_.problems.size() < kMaxCsvProblems) return;
    table_.problems.push_back({{file_, line, column},
                               fmt::format("{} problems; reading ends here", kMaxCsvProblems),
                               "look at the first of them"});
    stopped_ = true;
  }

  void PassLineEnd() {
    if (AtEnd()) return;
    const bool is_pair = text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n';
    at_ += is_pair ? 2 : 1;
    ++line_;
    line_begin_ = at_;
  }
  void PassLine() {
    while (!AtLineEnd()) ++at_;
    PassLineEnd();
  }

  // A lone # is the heading of a column of numbers.
  bool IsRemark() const {
    return text_[at_] == '#' && at_ + 1 < text_.size() && text_[at_ + 1] != separator_;
  }

  void ReadRecord() {
    if (IsRemark()) return PassLine();
    if (AtLineEnd()) return PassLineEnd();
    if (table_.records.size() >= kMaxCsvRecords) {
      Complain(line_, 1, fmt::format("more than {} lines", kMaxCsvRecords),
               "too many lines for one schedule; split the file");
      stopped_ = true;
      return;
    }
    CsvRecord record;
    record.line = line_;
    while (true) {
      if (record.fields.size() >= kMaxCsvFields) {
        Complain(line_, Column(), fmt::format("more than {} columns", kMaxCsvFields),
                 "save only the columns that are used");
        PassLine();
        return;
      }
      record.fields.push_back(ReadField());
      if (AtEnd() || text_[at_] != separator_) break;
      ++at_;
    }
    PassLineEnd();
    table_.records.push_back(std::move(record));
  }

  CsvField ReadField() {
    CsvField field;
    while (!AtLineEnd() && text_[at_] == ' ') ++at_;
    field.line = line_;
    field.column = Column();
    if (!AtLineEnd() && text_[at_] == '"') {
      ReadQuoted(field);
    } else {
      ReadPlain(field);
      field.text = Trimmed(std::move(field.text));
    }
    return field;
  }

  void ReadPlain(CsvField& field) {
    const std::size_t begin = at_;
    while (!AtLineEnd() && text_[at_] != separator_) ++at_;
    const std::string_view plain = text_.substr(begin, at_ - begin);
    if (plain.size() > kMaxCsvFieldBytes) {
      Complain(field.line, field.column, fmt::format("a field of {} bytes", plain.size()),
               fmt::format("at most {} are read", kMaxCsvFieldBytes));
    }
    field.text += plain.substr(0, kMaxCsvFieldBytes);
  }

  // From the opening quote to the separator or line end behind the closing one.
  void ReadQuoted(CsvField& field) {
    const std::size_t begin = at_, begin_of_line = line_begin_;
    ++at_;
    while (!AtEnd() && field.text.size() <= kMaxCsvFieldBytes) {
      const char c = text_[at_];
      if (c == '"') {
        ++at_;
        if (AtEnd() || text_[at_] != '"') return ReadBehindQuote(field);
        field.text += '"';
        ++at_;
      } else if (c == '\n' || c == '\r') {
        field.text += '\n';
        PassLineEnd();
      } else {
        field.text += c;
        ++at_;
      }
    }
    Complain(field.line, field.column,
             AtEnd() ? "the quote that opens here is not closed"
                     : fmt::format("the quote that opens here is not closed within {} bytes",
                                   kMaxCsvFieldBytes),
             "close it; a quote that belongs to the text is written twice");
    at_ = begin + 1;
    line_ = field.line;
    line_begin_ = begin_of_line;
    field.text.clear();
    ReadPlain(field);
  }

  void ReadBehindQuote(CsvField& field) {
    while (!AtLineEnd() && IsBlank(text_[at_]) && text_[at_] != separator_) ++at_;
    if (AtLineEnd() || text_[at_] == separator_) return;
    Complain(line_, Column(), "text behind a closing quote",
             "put the whole field in quotes; a quote that belongs to the text is written twice");
    ReadPlain(field);
  }

  const std::string& file_;
  const std::string_view text_;
  const char separator_;
  std::size_t at_ = 0;
  std::size_t line_begin_ = 0;
  int line_ = 1;
  bool stopped_ = false;
  CsvTable table_;
};

}  // namespace

std::string_view WithoutByteOrderMark(std::string_view text) {
  return text.starts_with("\xEF\xBB\xBF") ? text.substr(3) : text;
}

CsvTable ReadCsv(const std::string& file, std::string_view text, char separator) {
  return Parser(file, text, separator).Parse();
}

}  // namespace drycrank::yaml
