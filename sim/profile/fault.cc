// SPDX-License-Identifier: Apache-2.0
#include "profile/fault.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace drycrank::profile {
namespace {

struct FaultGroup {
  const char* of;
  FaultKind first, last;
};
constexpr FaultGroup kGroups[] = {
    {"harness", FaultKind::kOpen, FaultKind::kGroundOffset},
    {"sensor and wheel", FaultKind::kNotFitted, FaultKind::kSensorOffset},
    {"bus", FaultKind::kMessageMissing, FaultKind::kBusOff},
    {"stand-in", FaultKind::kLayout, FaultKind::kCalibration},
};

}  // namespace

const char* Name(FaultKind kind) {
  switch (kind) {
    case FaultKind::kOpen:
      return "open";
    case FaultKind::kShortToGround:
      return "short_to_ground";
    case FaultKind::kShortToSupply:
      return "short_to_supply";
    case FaultKind::kShortTogether:
      return "short_together";
    case FaultKind::kSeriesResistance:
      return "series_resistance";
    case FaultKind::kLeakage:
      return "leakage";
    case FaultKind::kTerminalsSwapped:
      return "terminals_swapped";
    case FaultKind::kConnectorsSwapped:
      return "connectors_swapped";
    case FaultKind::kGroundOffset:
      return "ground_offset";
    case FaultKind::kNotFitted:
      return "not_fitted";
    case FaultKind::kWheelOffset:
      return "wheel_offset";
    case FaultKind::kToothMissing:
      return "tooth_missing";
    case FaultKind::kSensorOffset:
      return "sensor_offset";
    case FaultKind::kMessageMissing:
      return "message_missing";
    case FaultKind::kMessageLate:
      return "message_late";
    case FaultKind::kMessageEarly:
      return "message_early";
    case FaultKind::kMessageDoubled:
      return "message_doubled";
    case FaultKind::kIdentifierWrong:
      return "identifier_wrong";
    case FaultKind::kLengthWrong:
      return "length_wrong";
    case FaultKind::kBytesSwapped:
      return "bytes_swapped";
    case FaultKind::kValueFrozen:
      return "value_frozen";
    case FaultKind::kCounterStuck:
      return "counter_stuck";
    case FaultKind::kCounterJumps:
      return "counter_jumps";
    case FaultKind::kChecksumWrong:
      return "checksum_wrong";
    case FaultKind::kNodeGone:
      return "node_gone";
    case FaultKind::kBabblingNode:
      return "babbling_node";
    case FaultKind::kErrorFrames:
      return "error_frames";
    case FaultKind::kBusOff:
      return "bus_off";
    case FaultKind::kLayout:
      return "layout";
    case FaultKind::kCalibration:
      return "calibration";
  }
  return "";
}

std::vector<std::string> FaultKindNames() {
  std::vector<std::string> names;
  for (int k = 0; k <= static_cast<int>(FaultKind::kCalibration); ++k) {
    names.emplace_back(Name(static_cast<FaultKind>(k)));
  }
  return names;
}

std::vector<std::string> FaultKindsInWords() {
  const std::vector<std::string> names = FaultKindNames();
  std::vector<std::string> lines;
  for (const FaultGroup& group : kGroups) {
    const auto first = names.begin() + static_cast<int>(group.first);
    const auto end = names.begin() + static_cast<int>(group.last) + 1;
    lines.push_back(fmt::format("{}: {}", group.of, fmt::join(first, end, ", ")));
  }
  return lines;
}

}  // namespace drycrank::profile
