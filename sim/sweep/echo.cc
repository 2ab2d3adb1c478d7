// SPDX-License-Identifier: Apache-2.0
#include "sweep/echo.h"

#include <cmath>
#include <string>
#include <vector>

#include "profile/state_names.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

std::optional<profile::SignalRef> Carrier(const profile::Bench& bench, const std::string& carried) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto& messages = bench.buses[b].messages;
    for (std::size_t m = 0; m < messages.size(); ++m) {
      if (messages[m].sender != profile::Sender::kDisplay) continue;
      for (std::size_t s = 0; s < messages[m].signals.size(); ++s) {
        if (messages[m].signals[s].carries != carried) continue;
        return profile::SignalRef{static_cast<int>(b), static_cast<int>(m), static_cast<int>(s)};
      }
    }
  }
  return std::nullopt;
}

std::string NameOfCode(const profile::Signal& signal, double value) {
  const auto& names = profile::NamesOfValues(signal);
  const auto code = std::llround((value - signal.offset) / signal.scale);
  const auto found = names.find(code);
  return found == names.end() ? Plain(value) : found->second;
}

std::string LampWord(double code) {
  if (code == 0) return "";
  if (code == 1) return "lit";
  return code == 2 ? "lit blinks" : "code " + Plain(code);
}

// "page", "unit and page", "state, unit and page".
std::string Listed(const std::vector<std::string>& words) {
  std::string list;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) list += i + 1 == words.size() ? " and " : ", ";
    list += words[i];
  }
  return list;
}

}  // namespace

Echo EchoOf(const profile::Bench& bench, const std::string& readout) {
  const auto carrier = [&](const char* part) { return Carrier(bench, readout + part); };
  return {carrier(".shown"), carrier(".state"), carrier(".unit"), carrier(".page"),
          carrier(".lamp")};
}

std::string PartsNotTold(const Echo& echo, const profile::Readout& readout) {
  std::vector<std::string> parts;
  if (!echo.shown) parts.push_back("number");
  if (!echo.state) parts.push_back("state");
  if (!echo.unit && !DisplayUnit(readout.unit).empty()) parts.push_back("unit");
  if (!echo.page) parts.push_back("page");
  if (!echo.lamp && !readout.lamp.empty()) parts.push_back("lamp");
  return parts.empty() ? std::string() : "its " + Listed(parts);
}

std::string PartsGone(const Echo& echo, const Echo& still) {
  std::vector<std::string> parts;
  if (echo.shown && !still.shown) parts.push_back("number");
  if (echo.state && !still.state) parts.push_back("state");
  if (echo.unit && !still.unit) parts.push_back("unit");
  if (echo.page && !still.page) parts.push_back("page");
  if (echo.lamp && !still.lamp) parts.push_back("lamp");
  const bool is_left = still.shown || still.state || still.unit || still.page || still.lamp;
  return parts.empty() || !is_left ? std::string() : "its " + Listed(parts);
}

std::optional<Shown> ShownOf(const profile::Bench& bench, const Echo& echo,
                             const EchoedValue& value) {
  const auto told = [&](const auto& at) { return at ? value(*at) : std::nullopt; };
  const auto number = told(echo.shown), state = told(echo.state);
  if (echo.state && !state) return std::nullopt;
  Shown shown;
  if (state) shown.state = NameOfCode(SignalAt(bench, *echo.state), *state);
  const bool has_number = shown.state.empty() || HasValue(shown);
  if (echo.shown && has_number && !number) return std::nullopt;
  if (number && has_number) shown.text = Plain(*number);
  if (const auto unit = told(echo.unit))
    shown.unit = NameOfCode(SignalAt(bench, *echo.unit), *unit);
  if (const auto page = told(echo.page)) shown.page = static_cast<int>(std::lround(*page));
  if (const auto lamp = told(echo.lamp)) shown.lamp = LampWord(*lamp);
  return shown;
}

}  // namespace drycrank::sweep
