// SPDX-License-Identifier: Apache-2.0
#include "output/safe_setting.h"

#include <fmt/format.h>

#include <charconv>
#include <optional>
#include <system_error>
#include <vector>

#include "types/overloaded.h"

namespace drycrank::output {
namespace {

using Fields = std::vector<std::string_view>;

Fields Split(std::string_view line, char separator) {
  Fields fields;
  for (std::size_t end = 0; end != std::string_view::npos;) {
    end = line.find(separator);
    fields.push_back(line.substr(0, end));
    if (end != std::string_view::npos) line.remove_prefix(end + 1);
  }
  return fields;
}

std::optional<int> WholeNumber(std::string_view text) {
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || value < 0) return std::nullopt;
  return value;
}

ReadSetting ParseLevel(const Fields& fields) {
  const std::optional<int> line = WholeNumber(fields[2]);
  if (!line) return {{}, fmt::format("\"{}\" is no line of a chip; give 0 or more", fields[2])};
  if (fields[3] != "0" && fields[3] != "1") {
    return {{}, fmt::format("\"{}\" is no level; give 0 for low or 1 for high", fields[3])};
  }
  return {SafeLevel{std::string(fields[1]), *line, fields[3] == "1"}, ""};
}

ReadSetting ParseText(const Fields& fields) {
  return {SafeText{std::string(fields[1]), std::string(fields[2])}, ""};
}

ReadSetting ParseRequest(const Fields& fields) {
  const std::optional<int> port = WholeNumber(fields[2]);
  if (!port || *port == 0 || *port > 65535) {
    return {{}, fmt::format("\"{}\" is not a TCP port; give 1 to 65535, as 5025", fields[2])};
  }
  return {SafeRequest{std::string(fields[1]), *port, std::string(fields[3]),
                      fields.size() > 4 ? std::string(fields[4]) : ""},
          ""};
}

struct Form {
  std::string_view kind;
  std::size_t fields;
  ReadSetting (*parse)(const Fields&);
  std::string_view written;
};
constexpr Form kForms[] = {{"gpio", 4, ParseLevel, "gpio CHIP LINE LEVEL"},
                           {"file", 3, ParseText, "file PATH TEXT"},
                           {"tcp", 5, ParseRequest, ""},
                           {"tcp", 4, ParseRequest, "tcp HOST PORT TEXT [QUESTION]"}};

}  // namespace

std::string Line(const SafeSetting& setting) {
  return std::visit(
      Overloaded{
          [](const SafeLevel& s) {
            return fmt::format("gpio\t{}\t{}\t{:d}", s.chip, s.line, s.high);
          },
          [](const SafeText& s) { return fmt::format("file\t{}\t{}", s.path, s.text); },
          [](const SafeRequest& s) {
            return fmt::format("tcp\t{}\t{}\t{}{}{}", s.host, s.port, s.line,
                               s.question.empty() ? "" : "\t", s.question);
          }},
      setting);
}

ReadSetting ParseSafeSetting(std::string_view line) {
  if (line.find_first_of(std::string_view("\n\0", 2)) != std::string_view::npos) {
    return {{}, "a safe setting is one line of text"};
  }
  const Fields fields = Split(line, '\t');
  for (const Form& form : kForms) {
    if (form.kind != fields[0]) continue;
    if (fields.size() == form.fields) return form.parse(fields);
    if (form.written.empty()) continue;  // another form of the same kind follows
    return {{},
            fmt::format("{} words after \"{}\"; write {}, with a tab between", fields.size() - 1,
                        fields[0], form.written)};
  }
  return {{},
          fmt::format("\"{}\" is no kind of safe setting; give gpio, file or tcp",
                      fields[0])};
}

std::string Words(const SafeSetting& setting) {
  return std::visit(
      Overloaded{[](const SafeLevel& s) {
                   return fmt::format("line {} of {} {}", s.line, s.chip, s.high ? "high" : "low");
                 },
                 [](const SafeText& s) { return fmt::format("\"{}\" into {}", s.text, s.path); },
                 [](const SafeRequest& s) {
                   return fmt::format("\"{}\" to {}:{}", s.line, s.host, s.port);
                 }},
      setting);
}

}  // namespace drycrank::output
