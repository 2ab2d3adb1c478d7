// SPDX-License-Identifier: Apache-2.0
#include "profile/on_board.h"

#include <fmt/format.h>

#include <algorithm>

namespace drycrank::profile {
namespace {

// SAE J1979 / ISO 15031-5; the table with its confirmations: tests/reference/obd_pids.csv. PID 5C
// is from memory (engine oil temperature, A - 40).
constexpr std::array kPids = {
    Pid{0x04, "calculated_engine_load", 1, 100.0 / 255, 0, "%"},
    Pid{0x05, "coolant_temperature", 1, 1, -40, "degC"},
    Pid{0x0B, "intake_manifold_absolute_pressure", 1, 1, 0, "kPa"},
    Pid{0x0C, "engine_speed", 2, 0.25, 0, "rpm"},
    Pid{0x0D, "vehicle_speed", 1, 1, 0, "km/h"},
    Pid{0x0E, "timing_advance", 1, 0.5, -64, "deg"},
    Pid{0x0F, "intake_air_temperature", 1, 1, -40, "degC"},
    Pid{0x10, "mass_air_flow", 2, 0.01, 0, ""},
    Pid{0x11, "throttle_position", 1, 100.0 / 255, 0, "%"},
    Pid{0x33, "absolute_barometric_pressure", 1, 1, 0, "kPa"},
    Pid{0x42, "control_module_voltage", 2, 0.001, 0, "V"},
    Pid{0x46, "ambient_air_temperature", 1, 1, -40, "degC"},
    Pid{0x52, "ethanol_fuel_percent", 1, 100.0 / 255, 0, "%"},
    Pid{0x5C, "engine_oil_temperature", 1, 1, -40, "degC"},
};
constexpr std::string_view kSystems = "PCBU";  // powertrain, chassis, body, network

}  // namespace

const Pid* FindPid(int pid) {
  const auto found =
      std::find_if(kPids.begin(), kPids.end(), [pid](const Pid& p) { return p.pid == pid; });
  return found == kPids.end() ? nullptr : &*found;
}

std::vector<int> KnownPids() {
  std::vector<int> known;
  for (const Pid& pid : kPids) known.push_back(pid.pid);
  return known;
}

std::optional<std::uint16_t> ParseTroubleCode(std::string_view text) {
  if (text.size() != 5) return std::nullopt;
  const auto system = kSystems.find(text[0]);
  if (system == std::string_view::npos || text[1] < '0' || text[1] > '3') return std::nullopt;
  unsigned code = static_cast<unsigned>(system) << 14;
  code |= static_cast<unsigned>(text[1] - '0') << 12;
  for (std::size_t i = 2; i < 5; ++i) {
    const auto digit = std::string_view("0123456789ABCDEF").find(text[i]);
    if (digit == std::string_view::npos) return std::nullopt;
    code |= static_cast<unsigned>(digit) << (4 * (4 - i));
  }
  return static_cast<std::uint16_t>(code);
}

std::string TroubleCodeText(std::uint16_t code) {
  return fmt::format("{}{:X}{:03X}", kSystems[code >> 14], code >> 12 & 3, code & 0xFFF);
}

std::string SpnFmiText(std::uint32_t code) {
  return fmt::format("SPN {} FMI {}", code >> 5, code & 31);
}

}  // namespace drycrank::profile
