// SPDX-License-Identifier: Apache-2.0
#include "sweep/why_not_read.h"

#include <fmt/format.h>

#include <string_view>

#include "types/unit.h"

namespace drycrank::sweep {
namespace {

constexpr std::string_view kDigits = "0123456789";

// What stands before " warns" or " quiet", where it is a number.
std::string NumberThatWarns(const std::string& text) {
  for (const std::string_view word : {" warns", " quiet"}) {
    if (!text.ends_with(word)) continue;
    const std::string number = text.substr(0, text.size() - word.size());
    if (ParseNumberWithUnit(number)) return number;
  }
  return {};
}

bool BeginsWithDigit(const std::string& text) {
  return !text.empty() && kDigits.find(text.front()) != std::string_view::npos;
}

bool CountsSegments(const std::string& text) {
  return LitOf(text).find_first_not_of(kDigits) == std::string::npos;
}

NotRead SayLamp(const std::string& text, const std::string& number, const std::string& lamp) {
  return {fmt::format("'{}' does not say which lamp is lit", text),
          fmt::format("write {} {} where it is lit, or {} where it is dark", number, lamp, number)};
}

NotRead SayCount(const std::string& text, const profile::Bar& bar) {
  const std::string lit = text.substr(0, text.find_first_not_of(kDigits));
  return {fmt::format("'{}' counts no segments", text),
          fmt::format("count those that are lit, and write them as {} or {} of {}; where a number "
                      "stands there in place of the bar, write number {}",
                      lit, lit, bar.segments, text)};
}

}  // namespace

std::optional<NotRead> WhyNotRead(const Reading& reading, const profile::Readout& readout) {
  const std::string& text = reading.text;
  if (text == readout.dashes || text == readout.not_available) return std::nullopt;
  const std::string number = NumberThatWarns(text);
  if (!readout.lamp.empty() && !number.empty()) return SayLamp(text, number, readout.lamp);
  if (!readout.bar || !BeginsWithDigit(text) || CountsSegments(text)) return std::nullopt;
  return SayCount(text, *readout.bar);
}

}  // namespace drycrank::sweep
