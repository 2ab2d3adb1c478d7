// SPDX-License-Identifier: Apache-2.0
#include "profile/controller_values.h"

#include <algorithm>
#include <array>

#include "types/nth.h"

namespace drycrank::profile {
namespace {

constexpr std::array kOwnValues = {
    OwnValue{"engine_speed", "rpm", CarriedKind::kMeasured},
    OwnValue{"sync_state", "", CarriedKind::kState},
    OwnValue{"sync_losses", "", CarriedKind::kCount},
    OwnValue{"sync_reason", "", CarriedKind::kState},
    OwnValue{"supply_voltage", "V", CarriedKind::kMeasured},
    OwnValue{"cycles", "", CarriedKind::kCount},
    OwnValue{"injections", "", CarriedKind::kCount},
    OwnValue{"ignitions", "", CarriedKind::kCount},
    OwnValue{"sensor_faults", "", CarriedKind::kCount},
};

}  // namespace

std::span<const OwnValue> OwnValues() { return kOwnValues; }

std::vector<CarriedValue> ControllerValues(const Controller& controller) {
  std::vector<CarriedValue> values;
  for (const OwnValue& own : kOwnValues) {
    values.push_back({std::string(own.name), std::string(own.unit)});
  }
  for (const int cam : controller.decoder.cams) {
    values.push_back({"cam_angle." + Nth(controller.triggers, cam).name, "deg"});
  }
  const auto add = [&](const auto& channel) {
    values.push_back({channel.name, channel.unit});
    values.push_back({channel.name + ".fault", ""});
  };
  std::for_each(controller.analog.begin(), controller.analog.end(), add);
  std::for_each(controller.frequency.begin(), controller.frequency.end(), add);
  return values;
}

CarriedKind KindOfValue(std::string_view carries) {
  for (const OwnValue& own : kOwnValues) {
    if (own.name == carries) return own.kind;
  }
  const bool is_state = carries.starts_with("protection.") || carries.ends_with(".fault") ||
                        carries.ends_with(".state") || carries.ends_with(".unit") ||
                        carries.ends_with(".page") || carries.ends_with(".lamp");
  return is_state ? CarriedKind::kState : CarriedKind::kMeasured;
}

int PhaseCam(const Controller& controller) {
  for (const int index : controller.decoder.cams) {
    if (Nth(controller.triggers, index).shaft == Shaft::kCam) return index;
  }
  return -1;
}

}  // namespace drycrank::profile
