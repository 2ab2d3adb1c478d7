// SPDX-License-Identifier: Apache-2.0
#include "profile/fault.h"

namespace drycrank::profile {

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
    case FaultKind::kSwapTerminals:
      return "swap_terminals";
    case FaultKind::kExchangeConnectors:
      return "exchange_connectors";
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

}  // namespace drycrank::profile
