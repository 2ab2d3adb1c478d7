// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "schedule/import.h"

namespace drycrank::schedule {
namespace {

bool IsWordChar(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
}

// Text that YAML reads as itself, in quotes where it must be.
std::string Scalar(const std::string& text) {
  static constexpr std::string_view kReserved[] = {"null", "Null", "NULL", "true", "false",
                                                   "yes",  "no",   "on",   "off"};
  const bool begins = !text.empty() && IsWordChar(text.front()) && IsWordChar(text.back());
  const bool plain = begins && std::all_of(text.begin(), text.end(), [](char c) {
                       return IsWordChar(c) || c == '.' || c == '-' || c == '/' || c == ' ';
                     });
  const bool reserved =
      std::find(std::begin(kReserved), std::end(kReserved), text) != std::end(kReserved);
  if (plain && !reserved) return text;
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') quoted += '\\';
    quoted += c == '\n' || c == '\t' ? ' ' : c;
  }
  return quoted + "\"";
}

std::string PinList(const std::vector<std::string>& pins) {
  std::vector<std::string> quoted;
  for (const std::string& each : pins) quoted.push_back(fmt::format("\"{}\"", each));
  return fmt::format("[{}]", fmt::join(quoted, ", "));
}

// A count when the pins are numbers, a list otherwise, or where most of the numbers would be free: a
// relay has no pin 1.
std::string Pins(const std::vector<std::string>& pins) {
  int highest = 0;
  for (const std::string& pin : pins) {
    const bool number =
        pin.size() <= 3 && pin.front() != '0' &&
        std::all_of(pin.begin(), pin.end(), [](char c) { return c >= '0' && c <= '9'; });
    if (!number || std::stoi(pin) > 500) return PinList(pins);
    highest = std::max(highest, std::stoi(pin));
  }
  const bool sparse = highest > 3 * static_cast<int>(pins.size()) + 8;
  return sparse ? PinList(pins) : fmt::format("{}", highest);
}

std::string OneLine(std::string text) {
  std::replace(text.begin(), text.end(), '\n', ' ');
  return text;
}

std::string Line(const ScheduleWire& wire) {
  std::string line = fmt::format("  - {{circuit: {}, from: {}, to: {}", Scalar(wire.circuit.text),
                                 Scalar(wire.from.text), Scalar(wire.to.text));
  if (wire.length_m) line += fmt::format(", length_m: {:.10g}", *wire.length_m);
  if (!wire.gauge.text.empty()) line += ", gauge: " + Scalar(wire.gauge.text);
  if (!wire.colour.text.empty()) line += ", colour: " + Scalar(wire.colour.text);
  if (!wire.twist.text.empty()) line += ", twist: " + Scalar(wire.twist.text);
  line += "}";
  if (!wire.notes.empty()) line += "  # " + OneLine(wire.notes);
  return line + "\n";
}

std::string Fuses(const Schedule& schedule) {
  std::string text;
  for (const ScheduleWire& wire : schedule.wires) {
    if (!wire.IsFuse()) continue;
    text += fmt::format("  {}: {{from: {}, to: {}, rating_a: {:g}}}\n", Scalar(wire.circuit.text),
                        Scalar(wire.from.text), Scalar(wire.to.text), wire.fuse_a);
  }
  return text.empty() ? text : "\nfuses:\n" + text;
}

// Coil and contact are as usual; what was measured is written by hand.
std::string Relays(const Schedule& schedule) {
  std::string text;
  for (const profile::Relay& relay : schedule.relays) {
    text += fmt::format("  {}: {{coil_plus: {}, coil_minus: {}, common: {}, normally_open: {}{}}}\n",
                        Scalar(relay.name), Scalar(relay.coil_plus), Scalar(relay.coil_minus),
                        Scalar(relay.common), Scalar(relay.normally_open),
                        relay.normally_closed.empty()
                            ? ""
                            : ", normally_closed: " + Scalar(relay.normally_closed));
  }
  return text.empty() ? text : "\nrelays:\n" + text;
}

}  // namespace

std::string HarnessYaml(const Schedule& schedule) {
  std::string text = fmt::format(
      "# A harness, made by `drycrank schedule import` from {}.\n"
      "# A bench takes it with `include:`; the pins go up to the highest that has a wire.\n"
      "connectors:{}\n",
      OneLine(schedule.file), schedule.connectors.empty() ? " {}" : "");
  for (const profile::Connector& connector : schedule.connectors) {
    text += fmt::format("  {}: {{pins: {}{}}}\n", Scalar(connector.name), Pins(connector.pins),
                        connector.in_line ? ", in_line: true" : "");
  }
  std::vector<std::string> splices;
  for (const std::string& splice : schedule.splices) splices.push_back(Scalar(splice));
  text += fmt::format("\nsplices: [{}]\n\nwires:\n", fmt::join(splices, ", "));
  for (const ScheduleWire& wire : schedule.wires) text += wire.IsFuse() ? "" : Line(wire);
  return text + Fuses(schedule) + Relays(schedule);
}

}  // namespace drycrank::schedule
