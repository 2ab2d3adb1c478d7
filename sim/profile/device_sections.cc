// SPDX-License-Identifier: Apache-2.0
#include "profile/keys_bench.h"
#include "profile/keys_harness.h"
#include "profile/keys_slow_outputs.h"
#include "profile/keys_sensors.h"
#include "profile/keys_triggers.h"
#include "profile/make_section.h"

namespace drycrank::profile {

namespace {

template <class Model>
Part PartOf() {
  const auto with = [](const auto&... tables) {
    return WhenIs("kind", Model::kWord, OfKind<Model>::kMeaning, tables...);
  };
  return std::apply(with, OfKind<Model>::kKeys);
}

template <class... Models>
void AddParts(std::vector<Part>& parts, const std::variant<Models...>& /*all*/) {
  (parts.push_back(PartOf<Models>()), ...);
}

std::vector<Part> SensorParts() {
  std::vector<Part> parts = {Always(kSensorKeys, kSpanKeys)};
  AddParts(parts, SensorModel());
  parts.push_back(WhenIs("kind", "fuel_composition",
                         "Ethanol in the fuel as a frequency, 50 to 150 Hz, its temperature as the "
                         "width of the pulses.",
                         kHallKeys, kFuelKeys, kWidthKeys));
  parts.push_back(WhenThere("width_stimulus",
                            "The low time of the pulses, a straight line through two points.",
                            kWidthKeys));
  return parts;
}

template <class... Kinds>
void AddOutputs(std::vector<SectionInfo>& sections, const std::variant<Kinds...>& /*all*/) {
  std::vector<Part> parts = {Always(kOutputDeviceKeys)};
  (parts.push_back(
       WhenIs("kind", Kinds::kWord, OfOutput<Kinds>::kMeaning, OfOutput<Kinds>::kKeys)),
   ...);
  sections.push_back({"output_device",
                      "an output device",
                      "A device by which signals leave the computer.",
                      std::move(parts)});
  (sections.push_back({OfOutput<Kinds>::kChannelSection,
                       OfOutput<Kinds>::kChannelWhere,
                       "One channel, in the place of what it is named by.",
                       {Always(OfOutput<Kinds>::kChannelKeys)}}),
   ...);
}

}  // namespace

std::vector<SectionInfo> DeviceSections() {
  std::vector<SectionInfo> sections = {
      {"engine",
       "the engine",
       "The engine that is not there: what its crank does.",
       {Always(kEngineKeys)}},
      {"stimulus",
       "a stimulus",
       "A quantity that the simulator drives: a temperature, a pressure, a speed. Sensors turn it "
       "into something electrical, messages carry it. Needed: unit, min and max; engine_speed has "
       "them already.",
       {Always(kStimulusKeys)}},
      {"connector", "a connector", "A plug, with its pins.", {Always(kConnectorKeys)}},
      {"wire",
       "a wire",
       "One wire from terminal to terminal, or to a splice. A terminal has one wire.",
       {Always(kWireKeys)}},
      {"fuse",
       "a fuse",
       "A fuse between two pins of a box or holder, or splices. It counts as a circuit of its own.",
       {Always(kFuseKeys)}},
      {"relay",
       "a relay",
       "A coil that closes a contact. Each of its pins belongs to it alone.",
       {Always(kRelayKeys)}},
      {"diode", "a diode", "Lets current through one way.", {Always(kDiodeKeys)}},
      {"supply", "a supply", "A battery or power supply.", {Always(kSupplyKeys)}},
      {"load",
       "a load",
       "What an output of the controller switches: a coil, an injector, a relay, a lamp.",
       {Always(kLoadKeys)}},
      {"trigger",
       "a trigger",
       "A toothed wheel and the pickup in front of it: crank or cam.",
       {Always(kTriggerKeys)}},
      {"wheel",
       "a wheel",
       "The teeth of a wheel, of a trigger or as the controller has been told.",
       {Always(kWheelKeys),
        WhenThere("teeth", "A row of even teeth, some of them missing.", kPlacesKeys)}},
      {"pickup",
       "a pickup",
       "The sensor in front of a wheel.",
       {Always(kPickupKeys),
        WhenIs("kind", "hall", "Powered, three wires: switches its output to ground.", kHallKeys,
               kToothKeys),
        WhenIs("kind", "variable_reluctance",
               "A coil with two leads: a voltage that grows with speed.", kCoilKeys)}},
      {"sensor", "a sensor", "Turns a stimulus into something electrical.", SensorParts()},
      {"beta",
       "beta of a thermistor",
       "A thermistor's curve by two numbers: R = r25 · exp(beta · (1/T - 1/298.15 K)).",
       {Always(kBetaKeys)}},
      {"steinhart_hart",
       "steinhart_hart of a thermistor",
       "A thermistor's curve by the coefficients of Steinhart and Hart (1968).",
       {Always(kSteinhartHartKeys)}},
  };
  AddOutputs(sections, DeviceKind());
  return sections;
}

}  // namespace drycrank::profile
