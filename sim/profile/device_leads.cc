// SPDX-License-Identifier: Apache-2.0
#include "profile/device_leads.h"

#include "profile/sensors.h"
#include "profile/triggers.h"

namespace drycrank::profile {
namespace {

constexpr Gives Given(const HallPickup&) { return Gives::kPulses; }
constexpr Gives Given(const VariableReluctancePickup&) { return Gives::kCoil; }
constexpr Gives Given(const NtcSensor&) { return Gives::kLevel; }
constexpr Gives Given(const PlatinumSensor&) { return Gives::kLevel; }
constexpr Gives Given(const TypeKSensor&) { return Gives::kLevel; }
constexpr Gives Given(const RatiometricSensor&) { return Gives::kLevel; }
constexpr Gives Given(const VoltageSensor&) { return Gives::kLevel; }
constexpr Gives Given(const SwitchSensor&) { return Gives::kOnOff; }
constexpr Gives Given(const FrequencySensor& model) { return Given(model.output); }

template <class Model>
DeviceLeads Two(const Model& model, Leads leads) {
  DeviceLeads its;
  its.leads = leads;
  its.gives = Given(model);
  its.signal = model.plus;
  its.ground = model.minus;
  return its;
}

template <class Model>
DeviceLeads Three(const Model& model) {
  DeviceLeads its;
  its.leads = Leads::kThree;
  its.gives = Given(model);
  its.supply = model.supply;
  its.ground = model.ground;
  its.signal = model.signal;
  its.supply_ohm = model.supply_ohm;
  its.min_supply_v = model.min_supply_v;
  return its;
}

DeviceLeads Of(const HallPickup& model) { return Three(model); }
DeviceLeads Of(const VariableReluctancePickup& model) { return Two(model, Leads::kTwoPolar); }
DeviceLeads Of(const NtcSensor& model) { return Two(model, Leads::kTwo); }
DeviceLeads Of(const PlatinumSensor& model) { return Two(model, Leads::kTwo); }
DeviceLeads Of(const TypeKSensor& model) { return Two(model, Leads::kTwoPolar); }
DeviceLeads Of(const RatiometricSensor& model) {
  DeviceLeads its = Three(model);
  its.ratiometric = true;
  return its;
}
DeviceLeads Of(const VoltageSensor& model) { return Three(model); }
DeviceLeads Of(const SwitchSensor& model) { return Two(model, Leads::kTwo); }
DeviceLeads Of(const FrequencySensor& model) { return Of(model.output); }

}  // namespace

DeviceLeads LeadsOf(const Pickup& pickup) {
  return std::visit([](const auto& model) { return Of(model); }, pickup);
}

DeviceLeads LeadsOf(const SensorModel& model) {
  return std::visit([](const auto& of) { return Of(of); }, model);
}

Gives GivenBy(const Pickup& pickup) {
  return std::visit([](const auto& model) { return Given(model); }, pickup);
}

Gives GivenBy(const SensorModel& model) {
  return std::visit([](const auto& of) { return Given(of); }, model);
}

}  // namespace drycrank::profile
