// SPDX-License-Identifier: Apache-2.0
//
// The messages of a bench, or of a bus part, as they were understood: a table for people, or JSON
// in the keys of the YAML, defaults left out.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "profile/load.h"
#include "tools/commands.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

using Json = nlohmann::ordered_json;

Json SignalJson(const profile::Signal& s) {
  Json out{{"start_bit", s.start_bit}, {"length_bits", s.length_bits}};
  if (s.byte_order == profile::ByteOrder::kBig) out["byte_order"] = "big";
  if (s.is_signed) out["is_signed"] = true;
  if (s.is_float) out["is_float"] = true;
  if (s.scale != 1) out["scale"] = s.scale;
  if (s.offset != 0) out["offset"] = s.offset;
  if (s.min < s.max) {
    out["min"] = s.min;
    out["max"] = s.max;
  }
  if (!s.unit.empty()) out["unit"] = s.unit;
  if (s.multiplex == profile::Multiplex::kSelector) out["multiplex"] = "selector";
  if (s.multiplex == profile::Multiplex::kSelected) out["multiplex_value"] = s.multiplex_value;
  for (const auto& [raw, name] : s.values) out["values"][std::to_string(raw)] = name;
  if (!s.carries.empty()) out["carries"] = s.carries;
  return out;
}

Json MessageJson(const profile::Message& m) {
  Json out{{"id", m.id}};
  if (m.extended) out["extended"] = true;
  if (m.fd) out["fd"] = true;
  if (m.bit_rate_switch) out["bit_rate_switch"] = true;
  out["length_bytes"] = m.length_bytes;
  out["sender"] = Name(m.sender);
  if (m.period_ms > 0) {
    out["period_ms"] = m.period_ms;
    out["phase_ms"] = m.phase_ms;  // 0 too: left out means "choose one"
  }
  const auto name_of = [&](int signal) { return Nth(m.signals, signal).name; };
  if (m.counter_signal >= 0) out["counter"] = name_of(m.counter_signal);
  if (m.checksum_signal >= 0) {
    const bool autosar = m.checksum == profile::ChecksumKind::kCrc8Autosar;
    out["checksum"] = {{"signal", name_of(m.checksum_signal)},
                       {"kind", autosar ? "crc8_autosar" : "crc8_sae_j1850"}};
  }
  out["signals"] = Json::object();
  for (const profile::Signal& signal : m.signals) {
    Json& said = out["signals"][signal.name] = SignalJson(signal);
    for (const int other : signal.instead_of) said["instead_of"].push_back(name_of(other));
  }
  return out;
}

void PrintJson(const std::vector<profile::Bus>& buses) {
  Json out = Json::object();
  for (const profile::Bus& bus : buses) {
    Json messages = Json::object();
    for (const profile::Message& m : bus.messages) messages[m.name] = MessageJson(m);
    out[bus.name] = {{"bitrate_bps", bus.bitrate_bps},
                     {"data_bitrate_bps", bus.data_bitrate_bps},
                     {"messages", std::move(messages)}};
  }
  fmt::print("{}\n", out.dump(1));
}

std::string Often(const profile::Message& m) {
  return m.period_ms > 0 ? fmt::format("every {:g} ms", m.period_ms) : "on change";
}

void PrintTable(const std::vector<profile::Bus>& buses) {
  for (const profile::Bus& bus : buses) {
    fmt::print("{}, {:g} kbit/s, {} messages\n", bus.name, bus.bitrate_bps / 1e3,
               bus.messages.size());
    for (const profile::Message& m : bus.messages) {
      fmt::print("  0x{:<9X} {:<28} {:>2} bytes{}  {:<14} {:<10} {:>3} signals\n", m.id, m.name,
                 m.length_bytes, m.fd ? " FD" : "   ", Often(m), Name(m.sender), m.signals.size());
    }
  }
}

int Messages(const std::string& file, bool json) {
  const profile::LoadedBuses loaded = profile::LoadBusesOf(file);
  if (PrintProblems(loaded.problems)) return kBadInput;
  json ? PrintJson(loaded.buses) : PrintTable(loaded.buses);
  return kAllMet;
}

}  // namespace

void AddMessages(CLI::App& app, int& exit_code) {
  auto file = std::make_shared<std::string>();
  auto json = std::make_shared<bool>(false);
  CLI::App* command = app.add_subcommand("messages", "List the messages of a bench or a bus part");
  command->add_option("file", *file, "Bench, or part as in profiles/parts/buses/")->required();
  command->add_flag("--json", *json, "As JSON, with every layout");
  command->footer(
      "Example:\n  drycrank messages profiles/benches/hill_climb.yaml\n"
      "To bring messages in from other programs' files: tools/import-messages");
  command->callback([=, &exit_code] { exit_code = Messages(*file, *json); });
}

}  // namespace drycrank::tools
