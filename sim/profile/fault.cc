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
    case FaultKind::kCounterStuck:
      return "counter_stuck";
    case FaultKind::kChecksumWrong:
      return "checksum_wrong";
    case FaultKind::kLayout:
      return "layout";
    case FaultKind::kCalibration:
      return "calibration";
  }
  return "";
}

}  // namespace drycrank::profile
