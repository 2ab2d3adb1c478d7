// SPDX-License-Identifier: Apache-2.0
//
// Keys of what a controller tells a tester: OBD, UDS, J1939 (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_ON_BOARD_H_
#define DRYCRANK_PROFILE_KEYS_ON_BOARD_H_

#include "profile/keys_bus.h"
#include "profile/on_board.h"

namespace drycrank::profile {

template <>
struct EnumWords<RangeFault> {
  static constexpr Word<RangeFault> kAll[] = {{"signal low", RangeFault::kLow},
                                              {"signal high", RangeFault::kHigh},
                                              {"no signal", RangeFault::kMissing}};
};
template <>
struct EnumWords<Lamp> {
  static constexpr Word<Lamp> kAll[] = {{"protect", Lamp::kProtect},
                                        {"amber", Lamp::kAmber},
                                        {"red stop", Lamp::kRedStop},
                                        {"malfunction", Lamp::kMalfunction}};
};

inline constexpr Field<OnBoardDiagnostics> kDiagnosticsKeys[] = {
    {"bus", {}, NameOf("a bus"), "The bus it is asked on.", "bus: vehicle"},
    {"extended", To<&OnBoardDiagnostics::extended>, kTruth,
     "Identifiers of 29 bits instead of 11 (ISO 15765-4)."},
    {"functional_id",
     {},
     Whole(0, kMaxId29),
     "Identifier of questions to all controllers.",
     {},
     "0x7DF, or 0x18DB33F1"},
    {"request_id",
     {},
     Whole(0, kMaxId29),
     "Identifier of questions to this one.",
     {},
     "0x7E0, or 0x18DA10F1"},
    {"response_id",
     {},
     Whole(0, kMaxId29),
     "Identifier of its answers.",
     {},
     "0x7E8, or 0x18DAF110"},
    {"vehicle_id",
     {},
     kText,
     "The 17 characters that it calls the vehicle by (ISO 3779).",
     {},
     "none"},
    {"answer_ms", To<&OnBoardDiagnostics::answer_ms>, Number("ms", 0, 4000),
     "Time from a question to the stand-in's answer."},
    {"slot_ms", To<&OnBoardDiagnostics::slot_ms>, Number("ms", 5, 60000),
     "Time from one of the tester's questions to its next."},
    {"pids", {}, Section("pid").List(), "Parameters that it answers."},
    {"trouble_codes", {}, Section("trouble_code").List(), "Codes that it stores."},
};

inline constexpr Field<ReportedPid> kPidKeys[] = {
    {"pid",
     {},
     Whole(0, 0xFF),
     "Number of the parameter (SAE J1979 service 01): 0x05 is coolant.",
     "pid: 0x05"},
    {"channel", {}, kText, "The controller's value that it gives.", "channel: coolant_temperature"},
};

// Of OBD and UDS, and of J1939; then what both have.
inline constexpr Field<TroubleCode> kObdCodeKeys[] = {
    {"code", {}, kText, "As SAE J2012 writes it: P0118.", "code: P0118"},
};
inline constexpr Field<TroubleCode> kSpnKeys[] = {
    {"spn",
     {},
     Whole(0, (1 << 19) - 1),
     "Number of the parameter (SAE J1939-73): 110 is coolant.",
     "spn: 110"},
    {"fmi", {}, Whole(0, 31), "How it failed: 3 voltage above, 4 below normal.", "fmi: 4"},
};
inline constexpr Field<TroubleCode> kLampKeys[] = {
    {"lamp", To<&TroubleCode::lamp>, OneOf<Lamp>(), "The lamp it lights."},
};
inline constexpr Field<TroubleCode> kTroubleCodeKeys[] = {
    {"channel",
     {},
     NameOf("a channel"),
     "The channel that is out of range.",
     "channel: coolant_temperature"},
    {"when", To<&TroubleCode::when>, OneOf<RangeFault>(),
     "How: an analogue channel has signal low and signal high, a frequency channel no signal.",
     "when: signal low"},
};

inline constexpr Field<J1939Node> kJ1939Keys[] = {
    {"bus", {}, NameOf("a bus"), "The bus it is on.", "bus: vehicle"},
    {"address", To<&J1939Node::address>, Whole(0, 253),
     "The address it wants: 0 is engine 1. Two nodes that want the same one: the lower NAME keeps "
     "it (SAE J1939-81).",
     "address: 0"},
    {"name", {}, Section("j1939_name"), "Its NAME, the 64 bits that decide who keeps an address."},
    {"dm1_period_ms", To<&J1939Node::dm1_period_ms>, Number("ms", 100, 60000),
     "How often it sends its active codes, DM1 (SAE J1939-73)."},
    {"trouble_codes", {}, Section("j1939_trouble_code").List(), "Codes that it sends."},
};

inline constexpr Field<J1939Name> kJ1939NameKeys[] = {
    {"arbitrary_address", To<&J1939Name::arbitrary_address>, kTruth,
     "May it take another address, 128 to 247, when it loses?"},
    {"industry_group", To<&J1939Name::industry_group>, Whole(0, 7), "Field of the NAME."},
    {"system_instance", To<&J1939Name::system_instance>, Whole(0, 15), "Field of the NAME."},
    {"system", To<&J1939Name::system>, Whole(0, 127), "Field of the NAME: vehicle system."},
    {"function", To<&J1939Name::function>, Whole(0, 255), "Field of the NAME: 0 is the engine."},
    {"function_instance", To<&J1939Name::function_instance>, Whole(0, 31),
     "Field of the NAME: which of several with that function."},
    {"unit_instance", To<&J1939Name::unit_instance>, Whole(0, 7),
     "Field of the NAME: which controller of that function."},
    {"manufacturer", To<&J1939Name::manufacturer>, Whole(0, 2047), "Field of the NAME: a code."},
    {"identity", To<&J1939Name::identity>, Whole(0, (1 << 21) - 1),
     "Field of the NAME: a number for each unit."},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_ON_BOARD_H_
