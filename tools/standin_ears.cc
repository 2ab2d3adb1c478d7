// SPDX-License-Identifier: Apache-2.0
#include "tools/standin_ears.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>

#include "types/nth.h"

namespace drycrank::tools {
namespace {

using profile::Bench;

constexpr double kMostV = 1000;
constexpr int kMostChannels = 32;

std::optional<double> Number(const std::string& text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = error == std::errc() && end == text.data() + text.size();
  return whole && std::abs(value) <= kMostV ? std::optional(value) : std::nullopt;
}

std::vector<std::string> Split(const std::string& text, char by) {
  std::vector<std::string> parts(1);
  for (const char c : text) {
    if (c == by) {
      parts.emplace_back();
    } else {
      parts.back() += c;
    }
  }
  return parts;
}

// Index into controller.inputs, or why none.
int InputOf(const Bench& bench, const std::string& terminal, std::string& problem) {
  std::string known;
  const auto& inputs = bench.controller->inputs;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    if (inputs[i].terminal == terminal) return static_cast<int>(i);
    known += (known.empty() ? "" : ", ") + inputs[i].terminal;
  }
  problem = fmt::format("'{}' is no input of the controller; it has {}", terminal, known);
  return -1;
}

// Is it one whose edges are found? Else a wave there is not looked at.
bool CountsEdges(const profile::Controller& controller, const std::string& terminal) {
  const auto is_there = [&](const auto& channel) { return channel.terminal == terminal; };
  return std::ranges::any_of(controller.triggers, is_there) ||
         std::ranges::any_of(controller.frequency, is_there);
}

bool IsHeard(const run::Hearing& hearing, int input) {
  return std::ranges::count(hearing.ears, input, &run::Ear::input) > 0;
}

std::string AddEar(const Bench& bench, const std::string& word, run::Hearing& hearing) {
  const std::vector<std::string> sides = Split(word, '=');
  const std::vector<std::string> parts = Split(sides.back(), ':');
  const auto channel = Number(parts[0]);
  const auto full = parts.size() > 1 ? Number(parts[1]) : std::nullopt;
  const auto zero = parts.size() > 2 ? Number(parts[2]) : std::optional(0.0);
  if (sides.size() != 2 || parts.size() > 3 || !channel || !full || !zero || *full == 0) {
    return fmt::format(
        "--at {}: wants TERMINAL=CHANNEL:VOLTS or TERMINAL=CHANNEL:VOLTS:ZERO, as "
        "ECU.3=1:5",
        word);
  }
  if (*channel < 1 || *channel > kMostChannels || *channel != std::floor(*channel)) {
    return fmt::format("--at {}: channels are 1 to {}", word, kMostChannels);
  }
  std::string problem;
  const int input = InputOf(bench, sides[0], problem);
  if (input < 0) return fmt::format("--at {}: {}", word, problem);
  if (!CountsEdges(*bench.controller, sides[0])) {
    return fmt::format(
        "--at {}: the controller looks for no edges there; --level {}=VOLTS says what "
        "it has",
        word, sides[0]);
  }
  if (IsHeard(hearing, input)) return fmt::format("--at {}: {} hears already", word, sides[0]);
  hearing.ears.push_back({input, static_cast<int>(*channel) - 1, *full, *zero});
  return "";
}

std::string AddLevel(const Bench& bench, const std::string& word, run::Hearing& hearing) {
  const std::vector<std::string> sides = Split(word, '=');
  const auto volts = Number(sides.back());
  if (sides.size() != 2 || !volts) {
    return fmt::format("--level {}: wants TERMINAL=VOLTS, as ECU.20=1.8", word);
  }
  std::string problem;
  const int input = InputOf(bench, sides[0], problem);
  if (input < 0) return fmt::format("--level {}: {}", word, problem);
  if (IsHeard(hearing, input)) {
    return fmt::format("--level {}: {} hears a channel: leave out one of the two", word, sides[0]);
  }
  Nth(hearing.input_v, input) = *volts;
  return "";
}

}  // namespace

std::string ReadEars(const Bench& bench, const std::vector<std::string>& at,
                     const std::vector<std::string>& levels, run::Hearing& hearing) {
  for (const profile::InputCircuit& input : bench.controller->inputs) {
    hearing.input_v.push_back(run::OpenPinV(input));
  }
  for (const std::string& word : at) {
    if (std::string problem = AddEar(bench, word, hearing); !problem.empty()) return problem;
  }
  for (const std::string& word : levels) {
    if (std::string problem = AddLevel(bench, word, hearing); !problem.empty()) return problem;
  }
  return "";
}

int ChannelsNeeded(const run::Hearing& hearing) {
  int most = 1;
  for (const run::Ear& ear : hearing.ears) most = std::max(most, ear.channel + 1);
  return most;
}

std::vector<std::string> InWords(const Bench& bench, const std::vector<std::string>& levels,
                                 const run::Hearing& hearing) {
  std::vector<std::string> words;
  for (const run::Ear& ear : hearing.ears) {
    words.push_back(fmt::format("{} hears channel {}: {:g} V at full scale, {:g} V at silence",
                                Nth(bench.controller->inputs, ear.input).terminal, ear.channel + 1,
                                ear.full_scale_v, ear.zero_v));
  }
  for (std::size_t i = 0; i < bench.controller->inputs.size(); ++i) {
    const std::string& terminal = bench.controller->inputs[i].terminal;
    if (IsHeard(hearing, static_cast<int>(i))) continue;
    const bool told = std::ranges::any_of(
        levels, [&](const std::string& level) { return level.starts_with(terminal + "="); });
    words.push_back(fmt::format("{} {}: {:g} V", terminal,
                                told ? "is told" : "is neither heard nor told, an open pin",
                                hearing.input_v[i]));
  }
  return words;
}

}  // namespace drycrank::tools
