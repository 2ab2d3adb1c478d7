// SPDX-License-Identifier: Apache-2.0
#include "protocol/scpi.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <system_error>

#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr std::size_t kMostErrors = 16;

char Upper(char c) { return static_cast<char>(std::toupper(static_cast<unsigned char>(c))); }
bool IsUpper(char c) { return std::isupper(static_cast<unsigned char>(c)) != 0; }

std::string_view Trimmed(std::string_view text) {
  const auto begin = text.find_first_not_of(" \t\r\n");
  if (begin == std::string_view::npos) return "";
  return text.substr(begin, text.find_last_not_of(" \t\r\n") - begin + 1);
}

bool SameLetters(std::string_view a, std::string_view b) {
  return std::ranges::equal(a, b, {}, Upper, Upper);
}

// "VOLTage": VOLT or VOLTAGE.
bool IsKeyword(std::string_view text, std::string_view keyword) {
  const auto ends = std::ranges::find_if(keyword, [](char c) { return !IsUpper(c); });
  const std::string_view in_short =
      keyword.substr(0, static_cast<std::size_t>(ends - keyword.begin()));
  return SameLetters(text, keyword) || SameLetters(text, in_short);
}

// Takes the first part up to a colon off.
std::string_view TakePart(std::string_view& text) {
  const auto colon = text.find(':');
  const std::string_view part = text.substr(0, colon);
  text = colon == std::string_view::npos ? "" : text.substr(colon + 1);
  return part;
}

// Both without their question mark.
bool Matches(std::string_view text, std::string_view pattern) {
  if (pattern.empty()) return text.empty();
  if (pattern.front() == '[') {
    const auto end = pattern.find(']');
    std::string_view optional = pattern.substr(1, end - 1);
    const std::string_view rest = pattern.substr(end + 1);
    if (Matches(text, rest)) return true;
    std::string_view after = text;
    if (optional.front() == ':') optional.remove_prefix(1);
    if (optional.back() == ':') optional.remove_suffix(1);
    return IsKeyword(TakePart(after), optional) && Matches(after, rest);
  }
  const auto bracket = pattern.find('[');
  std::string_view head = pattern.substr(0, bracket);
  const std::string_view optional_tail =
      bracket == std::string_view::npos ? "" : pattern.substr(bracket);
  const std::string_view part = TakePart(head);
  std::string_view after = text;
  if (text.empty() || !IsKeyword(TakePart(after), part)) return false;
  return head.empty() ? Matches(after, optional_tail)
                      : Matches(after, pattern.substr(part.size() + 1));
}

}  // namespace

bool IsHeader(std::string_view text, std::string_view pattern) {
  if (text.ends_with('?') != pattern.ends_with('?')) return false;
  if (text.ends_with('?')) {
    text.remove_suffix(1);
    pattern.remove_suffix(1);
  }
  if (text.starts_with(':')) text.remove_prefix(1);
  if (text.ends_with(':')) return false;
  return Matches(text, pattern);
}

std::optional<double> ScpiNumber(std::string_view text) {
  text = Trimmed(text);
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc() || end != text.data() + text.size() ||
      !(std::abs(value) < kNoReading)) {
    return std::nullopt;
  }
  return value;
}

std::optional<ScpiError> ParseScpiError(std::string_view line) {
  line = Trimmed(line);
  if (line.starts_with('+')) line.remove_prefix(1);
  ScpiError parsed;
  const auto [end, error] = std::from_chars(line.data(), line.data() + line.size(), parsed.code);
  const std::string_view text = line.substr(static_cast<std::size_t>(end - line.data()));
  if (error != std::errc() || text.size() < 3 || !text.starts_with(",\"") || !text.ends_with('"')) {
    return std::nullopt;
  }
  parsed.text = text.substr(2, text.size() - 3);
  return parsed;
}

std::vector<std::string> SupplyOn(double volts, double amperes) {
  return {fmt::format("CURR {:.6g}", amperes),
          std::string(kAskError),
          fmt::format("VOLT {:.6g}", volts),
          std::string(kAskError),
          "OUTP ON",
          std::string(kAskError)};
}

std::optional<std::string> ScpiSupply::Take(std::string_view line) {
  std::optional<std::string> answers;
  while (!line.empty()) {
    const auto end = line.find(';');
    const std::string_view command = Trimmed(line.substr(0, end));
    line = end == std::string_view::npos ? "" : line.substr(end + 1);
    if (command.empty()) continue;
    const auto blank = command.find_first_of(" \t");
    const std::string_view value =
        blank == std::string_view::npos ? "" : Trimmed(command.substr(blank));
    const std::optional<std::string> answer = Do(command.substr(0, blank), value);
    if (answer) answers = answers ? *answers + ";" + *answer : *answer;
  }
  return answers;
}

std::optional<std::string> ScpiSupply::Do(std::string_view header, std::string_view value) {
  if (header.ends_with('?')) return Ask(header);
  if (SameLetters(header, "*RST"))
    Reset();
  else if (SameLetters(header, "*CLS"))
    errors_.clear();
  else if (IsHeader(header, "[SOURce:]VOLTage[:LEVel]"))
    Set(volts_, value, limits_.volts);
  else if (IsHeader(header, "[SOURce:]CURRent[:LEVel]"))
    Set(amperes_, value, limits_.amperes);
  else if (IsHeader(header, "OUTPut[:STATe]"))
    Switch(value);
  else
    Refuse(-113, "Undefined header");
  return std::nullopt;
}

std::optional<std::string> ScpiSupply::Ask(std::string_view header) {
  if (SameLetters(header, "*IDN?")) return identity_;
  if (SameLetters(header, "*OPC?")) return "1";
  if (IsHeader(header, "SYSTem:ERRor[:NEXT]?")) return NextError();
  if (IsHeader(header, "[SOURce:]VOLTage[:LEVel]?")) return fmt::format("{:.4f}", volts_);
  if (IsHeader(header, "[SOURce:]CURRent[:LEVel]?")) return fmt::format("{:.4f}", amperes_);
  if (IsHeader(header, "OUTPut[:STATe]?")) return on_ ? "1" : "0";
  if (IsHeader(header, "MEASure:VOLTage[:DC]?")) return fmt::format("{:.4f}", Volts());
  if (IsHeader(header, "MEASure:CURRent[:DC]?")) return fmt::format("{:.4f}", Amperes());
  if (IsHeader(header, "MEASure:RESistance?")) return fmt::format("{:.6E}", load_ohm_);
  Refuse(-113, "Undefined header");
  return std::nullopt;
}

void ScpiSupply::Set(double& what, std::string_view value, double most) {
  const std::optional<double> number = ScpiNumber(value);
  if (value.empty()) return Refuse(-109, "Missing parameter");
  if (!number) return Refuse(-104, "Data type error");
  if (*number < 0 || *number > most) return Refuse(-222, "Data out of range");
  what = *number;
}

void ScpiSupply::Switch(std::string_view value) {
  if (value == "1" || SameLetters(value, "ON"))
    on_ = true;
  else if (value == "0" || SameLetters(value, "OFF"))
    on_ = false;
  else
    Refuse(-224, "Illegal parameter value");
}

void ScpiSupply::Reset() {
  on_ = false;
  volts_ = amperes_ = 0;
}

void ScpiSupply::Refuse(int code, const char* text) {
  if (errors_.size() < kMostErrors)
    errors_.push_back({code, text});
  else
    errors_.back() = {-350, "Queue overflow"};
}

std::string ScpiSupply::NextError() {
  const ScpiError first = errors_.empty() ? ScpiError{0, "No error"} : errors_.front();
  if (!errors_.empty()) errors_.pop_front();
  return fmt::format("{},\"{}\"", first.code, first.text);
}

double ScpiSupply::Volts() const { return on_ ? std::min(volts_, amperes_ * load_ohm_) : 0; }
double ScpiSupply::Amperes() const { return Volts() / load_ohm_; }

}  // namespace drycrank::protocol
