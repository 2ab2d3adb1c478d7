// SPDX-License-Identifier: Apache-2.0
#include "schedule/cells.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/wire_gauge.h"
#include "schedule/columns.h"
#include "types/unit.h"

namespace drycrank::schedule {
namespace {

constexpr double kLongestM = 200;            // as the bench's loader
constexpr double kLongestWithoutUnitM = 50;  // beyond it, it is likelier mm or cm

bool IsDigit(char c) { return c >= '0' && c <= '9'; }

std::string_view Trim(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\n");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\n") - first + 1);
}

// Digits around one comma, and nothing else between: where the comma is.
std::optional<std::size_t> CommaIn(std::string_view text) {
  const auto comma = text.find(',');
  if (comma == std::string_view::npos || comma == 0 || text.find('.') != std::string_view::npos) {
    return std::nullopt;
  }
  if (text.find(',', comma + 1) != std::string_view::npos) return std::nullopt;
  const bool digits =
      IsDigit(text[comma - 1]) && comma + 1 < text.size() && IsDigit(text[comma + 1]);
  return digits ? std::optional(comma) : std::nullopt;
}

bool IsThousands(std::string_view text, std::size_t comma) {
  std::size_t digits = 0;
  while (comma + 1 + digits < text.size() && IsDigit(text[comma + 1 + digits])) ++digits;
  return digits == 3 && text[0] != '0' && comma <= 3;
}

std::string WithPoint(std::string_view text) {
  std::string pointed(text);
  if (const auto comma = CommaIn(text)) pointed[*comma] = '.';
  return pointed;
}

std::string LengthUnit(std::string_view written) {
  if (written == "\"" || written == "''" || written == "inch" || written == "Zoll") return "in";
  if (written == "Meter" || written == "meter" || written == "M") return "m";
  if (written == "'" || written == "feet") return "ft";
  return std::string(written);
}

Read<std::string> GaugeNotKnown(std::string_view text) {
  return {std::nullopt, fmt::format("no resistance is known for gauge '{}'", text),
          std::string(profile::kWireGauges)};
}

// "AWG 20", "20 AWG", "AWG20", "20ga", "#20", "2/0 AWG" and so on, without case: "20", "2/0".
std::optional<std::string> AwgOf(std::string_view text) {
  std::string plain = Plain(text);
  for (const std::string_view word : {"awg", "ga", "gauge", "#"}) {
    const auto at = plain.find(word);
    if (at == std::string::npos) continue;
    plain.erase(at, word.size());
    const std::string_view rest = Trim(plain);
    const bool is_thick = rest.ends_with(" 0");  // 2/0
    const std::string digits(is_thick ? rest.substr(0, rest.size() - 2) : rest);
    const bool whole =
        !digits.empty() && digits.size() <= 2 && std::ranges::all_of(digits, IsDigit);
    if (whole) return digits + (is_thick ? "/0" : "");
  }
  return std::nullopt;
}

std::string Safe(std::string_view text, bool keep_minus) {
  std::string name;
  for (const char c : text) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    const bool kept = letter || IsDigit(c) || c == '_' || (c == '-' && keep_minus);
    if (kept) {
      name += c;
    } else if (c == '+') {
      name += "plus";
    } else if (!name.empty() && name.back() != '_') {
      name += '_';
    }
  }
  while (!name.empty() && name.back() == '_') name.pop_back();
  if (name.size() > 64) name.resize(64);
  return name;
}

std::string WithoutUmlauts(std::string_view text) {
  static constexpr std::pair<std::string_view, std::string_view> kLetters[] = {
      {"ä", "ae"}, {"ö", "oe"}, {"ü", "ue"}, {"Ä", "Ae"},
      {"Ö", "Oe"}, {"Ü", "Ue"}, {"ß", "ss"}, {"°", "deg"}};
  std::string plain(text);
  for (const auto& [letter, written] : kLetters) {
    for (auto at = plain.find(letter); at != std::string::npos; at = plain.find(letter, at)) {
      plain.replace(at, letter.size(), written);
    }
  }
  return plain;
}

// A pin beside a minus: "1", "12", "A", "A3"; "GND" is not.
bool LooksLikePin(std::string_view text) {
  const bool number = !text.empty() && std::all_of(text.begin(), text.end(), IsDigit);
  return number || text.size() == 1 || (text.size() <= 3 && IsDigit(text.back()));
}

}  // namespace

Read<double> ReadLength(std::string_view text, std::string_view unit, bool comma_is_decimal) {
  const std::string_view trimmed = Trim(text);
  const auto comma = CommaIn(trimmed);
  if (comma && !comma_is_decimal && IsThousands(trimmed, *comma)) {
    const std::string digits(trimmed.substr(0, *comma));
    const std::string rest(trimmed.substr(*comma + 1));
    return {std::nullopt, fmt::format("length '{}' can be read two ways", trimmed),
            fmt::format("write {}.{} or {}{}", digits, rest, digits, rest)};
  }
  const auto number = ParseNumberWithUnit(WithPoint(trimmed));
  if (!number) {
    return {std::nullopt, fmt::format("'{}' is not a length", trimmed),
            "write a number, as 1.2 m or 850 mm"};
  }
  const std::string own = LengthUnit(number->unit);
  const std::string_view in = !own.empty() ? std::string_view(own) : unit.empty() ? "m" : unit;
  const auto length_m = Convert(number->value, in, "m");
  if (!length_m) {
    return {std::nullopt, fmt::format("length '{}': '{}' is not a unit of length", trimmed, in),
            "m, mm, cm, in or ft"};
  }
  if (own.empty() && unit.empty() && *length_m > kLongestWithoutUnitM) {
    return {std::nullopt, fmt::format("length '{}' would be {:g} m", trimmed, *length_m),
            "write the unit into the heading, as 'Length mm', or beside the number"};
  }
  if (!(*length_m >= 0.001) || *length_m > kLongestM) {
    return {std::nullopt, fmt::format("length '{}' is {:g} m", trimmed, *length_m),
            fmt::format("0.001 to {:g} m is possible", kLongestM)};
  }
  return {std::round(*length_m * 1e6) / 1e6, {}, {}};
}

Read<std::string> ReadGauge(std::string_view text, std::string_view unit) {
  const std::string_view trimmed = Trim(text);
  std::vector<std::string> tries;
  if (const auto awg = AwgOf(trimmed)) {
    tries.push_back(*awg + " AWG");
  } else if (const auto number = ParseNumberWithUnit(WithPoint(trimmed))) {
    const std::string own = Plain(number->unit);
    if (own.empty()) {
      if (unit != "AWG") tries.push_back(fmt::format("{:g} mm2", number->value));
      if (unit != "mm2") tries.push_back(fmt::format("{:g} AWG", number->value));
    } else if (own == "mm2" || own == "mm 2" || own == "qmm" || own == "sqmm" || own == "mm") {
      tries.push_back(fmt::format("{:g} mm2", number->value));
    }
  }
  // A bare 20 is a number of AWG and not one of the sizes between: what is made comes first.
  for (const bool usual : {true, false}) {
    for (const std::string& gauge : tries) {
      const auto found = profile::FindWireGauge(gauge);
      if (found && (found->is_usual || !usual)) return {gauge, {}, {}};
    }
  }
  return GaugeNotKnown(trimmed);
}

std::string PlugName(std::string_view text) { return Safe(WithoutUmlauts(Trim(text)), true); }

std::string CircuitName(std::string_view text) {
  std::string plain = WithoutUmlauts(Trim(text));
  if (plain.size() > 1 && plain.back() == '-') plain.replace(plain.size() - 1, 1, " minus");
  std::string name = Safe(plain, false);
  if (!name.empty() && IsDigit(name.front())) name = "c_" + name;
  if (name.size() > 64) name.resize(64);
  return name;
}

std::optional<PlugAndPin> SplitTerminal(std::string_view text) {
  text = Trim(text);
  for (const std::string_view separators : {".:/", " ", "-"}) {
    const auto at = text.find_last_of(separators);
    if (at == std::string_view::npos || at == 0 || at + 1 >= text.size()) continue;
    const std::string pin = PinText(text.substr(at + 1));
    std::string_view plug = Trim(text.substr(0, at));
    if (separators != ".:/" && !LooksLikePin(pin)) continue;
    for (const std::string_view word : {" pin", " Pin", " PIN"}) {
      if (plug.ends_with(word)) plug.remove_suffix(word.size());
    }
    return PlugAndPin{std::string(Trim(plug)), pin};
  }
  return std::nullopt;
}

std::string PinText(std::string_view text) {
  text = Trim(text);
  for (const std::string_view word : {"pin", "Pin", "PIN", "Kontakt", "kontakt"}) {
    if (text.size() > word.size() && text.starts_with(word) &&
        (text[word.size()] == ' ' || IsDigit(text[word.size()]))) {
      return std::string(Trim(text.substr(word.size())));
    }
  }
  return std::string(text);
}

}  // namespace drycrank::schedule
