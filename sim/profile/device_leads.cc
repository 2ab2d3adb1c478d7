// SPDX-License-Identifier: Apache-2.0
#include "profile/device_leads.h"

namespace drycrank::profile {
namespace {

template <class Model>
DeviceLeads Two(const Model& model, Leads leads, Gives gives) {
  DeviceLeads its;
  its.leads = leads;
  its.gives = gives;
  its.signal = model.plus;
  its.ground = model.minus;
  return its;
}

template <class Model>
DeviceLeads Three(const Model& model, Gives gives) {
  DeviceLeads its;
  its.leads = Leads::kThree;
  its.gives = gives;
  its.supply = model.supply;
  its.ground = model.ground;
  its.signal = model.signal;
  its.supply_ohm = model.supply_ohm;
  its.min_supply_v = model.min_supply_v;
  return its;
}

DeviceLeads Of(const HallPickup& model) { return Three(model, Gives::kPulses); }
DeviceLeads Of(const VariableReluctancePickup& model) {
  return Two(model, Leads::kTwoPolar, Gives::kCoil);
}
DeviceLeads Of(const NtcSensor& model) { return Two(model, Leads::kTwo, Gives::kLevel); }
DeviceLeads Of(const PlatinumSensor& model) { return Two(model, Leads::kTwo, Gives::kLevel); }
DeviceLeads Of(const TypeKSensor& model) { return Two(model, Leads::kTwoPolar, Gives::kLevel); }
DeviceLeads Of(const RatiometricSensor& model) {
  DeviceLeads its = Three(model, Gives::kLevel);
  its.ratiometric = true;
  return its;
}
DeviceLeads Of(const VoltageSensor& model) { return Three(model, Gives::kLevel); }
DeviceLeads Of(const SwitchSensor& model) { return Two(model, Leads::kTwo, Gives::kOnOff); }
DeviceLeads Of(const FrequencySensor& model) { return Of(model.output); }

}  // namespace

DeviceLeads LeadsOf(const Pickup& pickup) {
  return std::visit([](const auto& model) { return Of(model); }, pickup);
}

DeviceLeads LeadsOf(const SensorModel& model) {
  return std::visit([](const auto& of) { return Of(of); }, model);
}

}  // namespace drycrank::profile
