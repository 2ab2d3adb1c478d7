// SPDX-License-Identifier: Apache-2.0
//
// The display's own layouts against the messages that are on the bus: a layout that was left out is
// the bus's, and agrees.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <string>
#include <vector>

#include "proofread/told.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

using profile::Message;
using profile::Signal;

std::string CodeWord(const Signal& s) {
  return s.not_available ? fmt::format("{}", *s.not_available) : "none";
}
std::string ValidWord(const Message& message, const Signal& s) {
  if (s.valid_signal < 0) return "none";
  return fmt::format("{} at {:g}", Nth(message.signals, s.valid_signal).name, s.valid_equals);
}
std::string LayoutWord(const Signal& s) {
  if (s.multiplex == profile::Multiplex::kSelector) return "the selector";
  if (s.multiplex == profile::Multiplex::kNone) return "none";
  return fmt::format("{}", s.multiplex_value);
}

// "scale 1 for 0.1", one for each difference.
std::vector<std::string> Differences(const Message& told_in, const Signal& told,
                                     const Message& sent_in, const Signal& sent) {
  std::vector<std::string> list;
  const auto number = [&](const char* what, double a, double b) {
    if (a != b) list.push_back(fmt::format("{} {:g} for {:g}", what, a, b));
  };
  number("start bit", told.start_bit, sent.start_bit);
  number("length", told.length_bits, sent.length_bits);
  number("scale", told.scale, sent.scale);
  number("offset", told.offset, sent.offset);
  const auto word = [&](bool differs, const char* a, const char* b) {
    if (differs) list.push_back(fmt::format("{} for {}", a, b));
  };
  const bool big = told.byte_order == profile::ByteOrder::kBig;
  word(told.byte_order != sent.byte_order, big ? "high byte first" : "low byte first",
       big ? "low byte first" : "high byte first");
  word(told.is_signed != sent.is_signed, told.is_signed ? "signed" : "unsigned",
       sent.is_signed ? "signed" : "unsigned");
  word(told.is_float != sent.is_float, told.is_float ? "float" : "whole number",
       sent.is_float ? "float" : "whole number");
  word(told.unit != sent.unit, told.unit.empty() ? "no unit" : told.unit.c_str(),
       sent.unit.empty() ? "no unit" : sent.unit.c_str());
  const auto text = [&](const char* what, const std::string& a, const std::string& b) {
    if (a != b) list.push_back(fmt::format("{} {} for {}", what, a, b));
  };
  text("not_available", CodeWord(told), CodeWord(sent));
  text("valid_when", ValidWord(told_in, told), ValidWord(sent_in, sent));
  text("multiplex", LayoutWord(told), LayoutWord(sent));
  return list;
}

void CompareMessage(const Message& told, const Message& sent, Compared& out) {
  if (told.id != sent.id || told.extended != sent.extended) {
    out.disagreements.push_back(
        {told.place,
         fmt::format("the display is told that message '{}' is 0x{:X}; it is sent as 0x{:X} ({})",
                     told.name, told.id, sent.id, At(sent.place)),
         fmt::format("set 0x{:X} in the display", sent.id)});
  }
  if (told.length_bytes != sent.length_bytes || told.fd != sent.fd) {
    const auto word = [](const Message& m) {
      return fmt::format("{} bytes{}", m.length_bytes, m.fd ? ", CAN FD" : "");
    };
    out.disagreements.push_back(
        {told.place,
         fmt::format("the display is told that message '{}' has {}; it is sent with {} ({})",
                     told.name, word(told), word(sent), At(sent.place)),
         fmt::format("set {} in the display", word(sent))});
  }
  for (const Signal& signal : told.signals) {
    const int at = profile::IndexOf(sent.signals, signal.name);
    if (at < 0) {
      out.disagreements.push_back(
          {signal.place,
           fmt::format("the display is told of '{}.{}', which is not in the message ({})",
                       told.name, signal.name, At(sent.place)),
           "name a signal of the message"});
      continue;
    }
    const Signal& right = Nth(sent.signals, at);
    const std::vector<std::string> differences = Differences(told, signal, sent, right);
    if (differences.empty()) continue;
    out.disagreements.push_back(
        {signal.place,
         fmt::format("the display is told of '{}.{}': {} ({})", told.name, signal.name,
                     fmt::join(differences, ", "), At(right.place)),
         "set what is sent in the display, or correct the message"});
  }
}

}  // namespace

void CompareLayouts(const profile::Bench& bench, Compared& out) {
  if (!bench.display) return;
  for (const profile::Bus& bus : bench.buses) {
    for (const Message& sent : bus.messages) {
      const int at = profile::IndexOf(bench.display->layouts, sent.name);
      if (at < 0) continue;
      CompareMessage(Nth(bench.display->layouts, at), sent, out);
    }
  }
}

}  // namespace drycrank::proofread
