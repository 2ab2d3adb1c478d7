// SPDX-License-Identifier: Apache-2.0
#include "profile/keys_bus.h"
#include "profile/keys_controller.h"
#include "profile/keys_on_board.h"
#include "profile/keys_protection.h"
#include "profile/make_section.h"

namespace drycrank::profile {

std::vector<SectionInfo> BusSections() {
  return {
      {"bus", "a bus", "A CAN bus.", {Always(kBusKeys)}},
      {"bus_node", "a node of a bus", "Where a device sits on the pair.", {Always(kBusNodeKeys)}},
      {"message",
       "a message",
       "A message of a bus, or as the display decodes it.",
       {Always(kMessageKeys)}},
      {"checksum",
       "the checksum of a message",
       "How the other bytes are guarded.",
       {Always(kChecksumKeys)}},
      {"signal", "a signal", "A value in a message.", {Always(kSignalKeys)}},
      {"valid_when",
       "the validity of a signal",
       "Which other signal says that this one was measured.",
       {Always(kValidWhenKeys)}},
      {"display", "the display", "The display, as it has been set up.", {Always(kDisplayKeys)}},
      {"gauge", "a gauge", "One value that the display shows.", {Always(kGaugeKeys)}},
      {"readout",
       "a readout",
       "One value that the display must show, whatever has been set in it.",
       {Always(kReadoutKeys)}},
  };
}

std::vector<SectionInfo> ControllerSections() {
  return {
      {"controller",
       "the controller",
       "The engine controller: its pins, and what has been set in it. The stand-in works by this; "
       "set wrong here, it is as wrong as a real one.",
       {Always(kControllerKeys)}},
      {"reference",
       "a reference output",
       "A supply for sensors, from the controller.",
       {Always(kReferenceKeys)}},
      {"input", "an input", "An input pin of the controller, electrically.", {Always(kInputKeys)}},
      {"analog",
       "an analog channel",
       "A value that the controller makes of a voltage.",
       {Always(kAnalogKeys)}},
      {"frequency",
       "a frequency channel",
       "A value that the controller makes of a frequency or a pulse width.",
       {Always(kFrequencyChannelKeys)}},
      {"trigger_channel",
       "a trigger of the controller",
       "An input for crank or cam, and the wheel that has been set in the controller.",
       {Always(kTriggerChannelKeys, kToldWheelKeys),
        WhenIsOrNone("conditioning", "threshold", "For Hall outputs: two thresholds.",
                     kThresholdKeys),
        WhenIs("conditioning", "zero_crossing", "For coils: where the voltage falls through zero.",
               kZeroCrossingKeys)}},
      {"decoder",
       "the decoder",
       "How the controller makes angle, spark and injection of the edges.",
       {Always(kDecoderKeys)}},
      {"output",
       "an output",
       "What the controller switches, and how it is shown to work.",
       {Always(kOutputKeys, kFittedOutputKeys),
        WhenIsOrNone("proved_by", "operator", "A person is asked.", kAskedOutputKeys),
        {Part::When::kKeyIsSignal,
         "proved_by",
         {},
         "The controller measures it itself.",
         Keys(kWatchedOutputKeys)}}},
      {"protection",
       "a protection",
       "What the controller must do by itself when a value leaves its limit.",
       {Always(kProtectionKeys),
        WhenIs("action", "limit_speed", "The engine can still be driven home.", kLimitSpeedKeys),
        WhenIs("action", "output_off", "A pump, mostly.", kOutputOffKeys),
        WhenIs("action", "lamp", "The driver is told.", kProtectionLampKeys)}},
      {"diagnostics",
       "the diagnostics",
       "What the controller answers to a tester (OBD, UDS).",
       {Always(kDiagnosticsKeys)}},
      {"pid",
       "a parameter of the diagnostics",
       "A value that a tester can ask for.",
       {Always(kPidKeys)}},
      {"trouble_code",
       "a trouble code",
       "A code that is stored while a channel is out of range.",
       {Always(kObdCodeKeys, kTroubleCodeKeys)}},
      {"j1939", "the J1939 node", "The controller on a J1939 bus.", {Always(kJ1939Keys)}},
      {"j1939_name", "the J1939 name", "Its NAME (SAE J1939-81).", {Always(kJ1939NameKeys)}},
      {"j1939_trouble_code",
       "a J1939 trouble code",
       "A code that is active while a channel is out of range.",
       {Always(kSpnKeys, kLampKeys, kTroubleCodeKeys)}},
  };
}

}  // namespace drycrank::profile
