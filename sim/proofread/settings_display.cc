// SPDX-License-Identifier: Apache-2.0
#include "proofread/settings_display.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <map>
#include <vector>

#include "bus/layout.h"
#include "proofread/words.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::proofread {
namespace {

using profile::Message;
using profile::Readout;
using profile::Signal;

// ---- messages -----------------------------------------------------------------------------------

const char* SelectorOf(const Message& message) {
  for (const Signal& signal : message.signals) {
    if (signal.multiplex == profile::Multiplex::kSelector) return signal.name.c_str();
  }
  return "its selector";
}

std::string NumberWords(const Signal& s) {
  std::string number = s.is_float ? "float" : s.is_signed ? "signed" : "unsigned";
  if (s.scale != 1) number += fmt::format(", times {:g}", s.scale);
  if (s.offset != 0) number += fmt::format(", plus {:g}", s.offset);
  const std::string unit = DisplayUnit(s.unit);
  return unit.empty() ? number : number + ", in " + unit;
}

// When its bits mean this signal, and when they mean no value.
std::string MeaningWords(const Message& message, const Signal& s) {
  std::string words;
  if (s.multiplex == profile::Multiplex::kSelector) words += ", tells the layout";
  if (s.multiplex == profile::Multiplex::kSelected) {
    words += fmt::format(", while {} is {}", SelectorOf(message), s.multiplex_value);
  }
  std::vector<std::string> others;
  for (const int other : s.instead_of) others.push_back(Nth(message.signals, other).name);
  if (!others.empty()) words += fmt::format(", or instead of it {}", fmt::join(others, " and "));
  if (s.not_available) words += fmt::format(", {} is no value", *s.not_available);
  if (s.valid_signal >= 0) {
    words += fmt::format(", no value unless {} is {:g}", Nth(message.signals, s.valid_signal).name,
                         s.valid_equals);
  }
  return words;
}

std::string SignalText(const Message& message, const Signal& s) {
  return fmt::format("    {:<22} bit {:>3}, {:>2} bits, {} byte first, {}{}\n", s.name, s.start_bit,
                     s.length_bits, s.byte_order == profile::ByteOrder::kBig ? "high" : "low",
                     NumberWords(s), MeaningWords(message, s));
}

std::string BusText(const profile::Bus& bus) {
  std::string text =
      fmt::format("\nDisplay: messages on bus {}, {:g} kbit/s\n", bus.name, bus.bitrate_bps / 1e3);
  for (const Message& m : bus.messages) {
    if (!IsForDisplay(m)) continue;
    text += fmt::format("  0x{:X} {}: {}{} bytes, {}\n", m.id, m.name,
                        m.extended ? "29-bit identifier, " : "", m.length_bytes,
                        m.period_ms > 0 ? fmt::format("every {:g} ms", m.period_ms) : "on change");
    for (const Signal& signal : m.signals) text += SignalText(m, signal);
  }
  return text;
}

// ---- what it must show ----------------------------------------------------------------------------

std::string DigitWords(int decimals) {
  if (decimals == 0) return "no digit behind the point";
  return fmt::format("{} digit{} behind the point", decimals, decimals == 1 ? "" : "s");
}

std::string BarWords(const profile::Bar& bar, const std::string& unit) {
  return fmt::format("as a bar of {} segments from {} to {}, each lit when it is {}", bar.segments,
                     Value(bar.low, unit), Value(bar.high, unit),
                     bar.lights == profile::SegmentLights::kHalf ? "half filled" : Word(bar.lights));
}

std::string ValueWords(const Readout& r) {
  const std::string unit = DisplayUnit(r.unit);
  std::string words = fmt::format("{}.{}", r.message, r.signal);
  if (!unit.empty()) words += ", in " + unit;
  if (r.bar) {
    words += ", " + BarWords(*r.bar, r.unit);
  } else {
    words += ", " + DigitWords(r.decimals);
  }
  if (r.min) words += ", not below " + Value(*r.min, r.unit);
  if (r.max) words += ", not above " + Value(*r.max, r.unit);
  if (r.keeps != profile::Keeps::kNothing) words += fmt::format(", keeps the {}", Word(r.keeps));
  return words;
}

std::string LampWords(const Readout& r) {
  std::string words;
  if (!r.lamp.empty()) words += ", lamp " + r.lamp;
  if (r.priority != 1) words += fmt::format(" with priority {}", r.priority);
  if (r.lamp_blinks_hz > 0) words += fmt::format(", blinks {:g} times a second", r.lamp_blinks_hz);
  if (r.lamp_latches) words += ", stays lit after the warning";
  return words;
}

std::string WarningWords(const Readout& r) {
  std::vector<std::string> limits;
  const auto add = [&](const char* side, const auto& limit, const auto& ends) {
    if (!limit) return;
    limits.push_back(fmt::format("{} {} until {}", side, Value(*limit, r.unit),
                                 Value(ends.value_or(*limit), r.unit)));
  };
  add("above", r.warn_above, r.warn_above_ends);
  add("below", r.warn_below, r.warn_below_ends);
  if (limits.empty()) return "";
  return fmt::format("warns {}{}", fmt::join(limits, " and "), LampWords(r));
}

const std::string& NoValueWord(const Readout& r) {
  return r.not_available.empty() ? r.dashes : r.not_available;
}

bool CanSayNone(const profile::Bench& bench, const Readout& r) {
  const auto at = profile::FindSignal(bench, r.message + "." + r.signal);
  return at.signal >= 0 && bus::CanSayNotAvailable(SignalAt(bench, at));
}

std::vector<std::string> ReadoutWords(const Readout& r, bool can_say_none) {
  std::vector<std::string> lines{ValueWords(r)};
  for (const auto& [value, name] : r.values) lines.push_back(fmt::format("{} is {}", value, name));
  lines.push_back(WarningWords(r));
  if (!r.acknowledged_by.empty()) lines.push_back("acknowledged by " + r.acknowledged_by);
  std::string gone =
      fmt::format("{} after {:g} ms without its message", r.dashes, r.dashes_after_ms);
  if (can_say_none) gone += fmt::format("; {} where it has no value", NoValueWord(r));
  lines.push_back(gone);
  std::erase(lines, "");
  return lines;
}

std::string PagesText(const profile::Bench& bench) {
  std::map<int, std::string> pages;
  for (const Readout& r : bench.readouts) {
    std::string name = r.name;
    for (const std::string& line : ReadoutWords(r, CanSayNone(bench, r))) {
      pages[r.page] += fmt::format("  {:<22} {}\n", name, line);
      name.clear();
    }
  }
  std::string text;
  for (const auto& [page, lines] : pages) text += fmt::format("\nDisplay: page {}\n", page) + lines;
  return text;
}

std::string SwitchingText(const profile::Switching& s) {
  std::string text = "\nDisplay: on and off\n";
  const auto line = [&text](const char* what, const std::string& value) {
    text += fmt::format("  {:<22} {}\n", what, value);
  };
  line("dark", fmt::format("for {:g} ms when power comes", s.dark_ms));
  line("all lamps lit", fmt::format("for {:g} ms then", s.lamp_test_ms));
  if (!s.key.empty()) {
    line("key", fmt::format("{}; dark {:g} ms after it goes to 0", s.key, s.off_after_ms));
  }
  return text;
}

}  // namespace

const char* Word(profile::Keeps keeps) {
  switch (keeps) {
    case profile::Keeps::kHighest:
      return "highest";
    case profile::Keeps::kLowest:
      return "lowest";
    case profile::Keeps::kNothing:
      break;
  }
  return "nothing";
}

const char* Word(profile::SegmentLights lights) {
  switch (lights) {
    case profile::SegmentLights::kHalf:
      return "half";
    case profile::SegmentLights::kBegun:
      return "begun";
    case profile::SegmentLights::kFilled:
      break;
  }
  return "filled";
}

std::string DisplayText(const profile::Bench& bench) {
  std::string text;
  for (const profile::Bus& bus : bench.buses) text += BusText(bus);
  text += PagesText(bench);
  return bench.switching ? text + SwitchingText(*bench.switching) : text;
}

}  // namespace drycrank::proofread
