// SPDX-License-Identifier: Apache-2.0
//
// Keys of the protections (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_PROTECTION_H_
#define DRYCRANK_PROFILE_KEYS_PROTECTION_H_

#include "profile/key.h"
#include "profile/keys_bench.h"
#include "profile/protection.h"

namespace drycrank::profile {

template <>
struct EnumWords<ProtectionAction> {
  static constexpr Word<ProtectionAction> kAll[] = {{"spark_cut", ProtectionAction::kSparkCut},
                                                    {"fuel_cut", ProtectionAction::kFuelCut},
                                                    {"limit_speed", ProtectionAction::kLimitSpeed},
                                                    {"output_off", ProtectionAction::kOutputOff},
                                                    {"lamp", ProtectionAction::kLamp}};
};
template <>
struct EnumWords<WhenBlind> {
  static constexpr Word<WhenBlind> kAll[] = {{"anything", WhenBlind::kAnything},
                                             {"acts", WhenBlind::kActs},
                                             {"does_not_act", WhenBlind::kStays}};
};

inline constexpr double kToleranceShare = 0.02;

inline constexpr Field<Protection> kProtectionKeys[] = {
    {"label", To<&Protection::label>, kText, "What reports call it.", {}, "its name"},
    {"watches",
     {},
     NameOf("a channel of the controller"),
     "What it looks at: an analog or frequency channel of the controller, or engine_speed.",
     "watches: oil_pressure"},
    {"stimulus",
     {},
     NameOf("a stimulus"),
     "What must be driven to move it.",
     {},
     "that of the same name"},
    {"absolute", To<&Protection::absolute>, kTruth,
     "The stimulus is a gauge pressure and the channel an absolute one: the barometer lies between "
     "them."},
    {"above",
     {},
     Number("of the channel"),
     "It acts when the value is higher. One of above and below.",
     {},
     "needed, or below"},
    {"below",
     {},
     Number("of the channel"),
     "It acts when the value is lower.",
     {},
     "needed, or above"},
    {"release",
     {},
     Number("of the channel"),
     "It lets go when the value is back there. Without a difference to the limit it comes and goes "
     "with every flicker of the value.",
     {},
     "the limit"},
    {"delay_ms", To<&Protection::delay_ms>, Number("ms", 0, 60000),
     "How long the value must be beyond the limit before it acts."},
    {"needs_above_rpm", To<&Protection::needs_above_rpm>, Number("rpm", 0, kMaxSpeedRpm),
     "It looks only at this engine speed or more; slower, it lets go. 0: always."},
    {"action", To<&Protection::action>, OneOf<ProtectionAction>(),
     "What it does: no sparks, no injections, neither above limit_to_rpm, an output goes off, or a "
     "signal on the bus is not zero.",
     "action: spark_cut"},
    {"tolerance",
     To<&Protection::tolerance>,
     Difference("of the channel", 1e-6, 1e9),
     "How far off it may act and let go, when it is tried.",
     {},
     "2 % of the limit"},
    {"delay_tolerance_ms",
     To<&Protection::delay_tolerance_ms>,
     Number("ms", 0, 60000),
     "How far the delay may be off, besides the time in which the controller sees a value and the "
     "next spark, injection or message shows what it does.",
     {},
     "a tenth of the delay"},
    {"when_open", To<&Protection::when_open>, OneOf<WhenBlind>(),
     "What it must do while its sensor's signal wire is open and the value cannot be seen."},
    {"when_shorted", To<&Protection::when_shorted>, OneOf<WhenBlind>(),
     "The same while that wire touches ground."},
};
inline constexpr Field<Protection> kLimitSpeedKeys[] = {
    {"limit_to_rpm", To<&Protection::limit_to_rpm>, Number("rpm", 1, kMaxSpeedRpm),
     "Above this speed it neither fires nor injects, while it acts.", "limit_to_rpm: 3000"},
};
inline constexpr Field<Protection> kOutputOffKeys[] = {
    {"output",
     {},
     NameOf("an output of the controller"),
     "The output that goes off. It is on while the engine turns.",
     "output: fuel_pump"},
};
inline constexpr Field<Protection> kProtectionLampKeys[] = {
    {"signal",
     {},
     kSignal,
     "The signal that is not zero while it acts. The stand-in sets it where the signal carries "
     "protection.NAME.",
     "signal: engine_temps.oil_lamp"},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_PROTECTION_H_
