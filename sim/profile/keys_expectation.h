// SPDX-License-Identifier: Apache-2.0
//
// Keys of expectations, by kind (key.h). Functions read them (load_expectation.cc).
#ifndef DRYCRANK_PROFILE_KEYS_EXPECTATION_H_
#define DRYCRANK_PROFILE_KEYS_EXPECTATION_H_

#include "profile/keys_scenario.h"
#include "profile/table_reader.h"
#include "types/limits.h"

namespace drycrank::profile {

// What one kind of expectation or fault has besides what all have.
struct KindKeys {
  std::string_view kind;
  std::string_view meaning;
  std::span<const Field<Untied>> keys = {};
};

template <std::size_t kSize>
void KnowKind(Rows& rows, const KindKeys (&kinds)[kSize], std::string_view kind) {
  for (const KindKeys& known : kinds) {
    if (known.kind == kind) rows.Know(known.keys);
  }
}

template <std::size_t kSize>
constexpr auto KindWords(const KindKeys (&kinds)[kSize]) {
  std::array<std::string_view, kSize> words;
  for (std::size_t i = 0; i < kSize; ++i) words[i] = kinds[i].kind;
  return words;
}

inline constexpr std::string_view kStateWords[] = {"ok", "warning", "stale", "not available",
                                                   "off"};
template <>
struct EnumWords<Dialect> {
  static constexpr Word<Dialect> kAll[] = {
      {"obd", Dialect::kObd}, {"uds", Dialect::kUds}, {"dm1", Dialect::kDm1}};
};
template <>
struct EnumWords<expect::InjectionPoint> {
  static constexpr Word<expect::InjectionPoint> kAll[] = {{"begin", expect::InjectionPoint::kBegin},
                                                          {"end", expect::InjectionPoint::kEnd}};
};
template <>
struct EnumWords<expect::Plug> {
  static constexpr Word<expect::Plug> kAll[] = {{"leading", expect::Plug::kLeading},
                                                {"trailing", expect::Plug::kTrailing}};
};
template <>
struct EnumWords<drycrank::OutputKind> {
  static constexpr Word<drycrank::OutputKind> kAll[] = {
      {"coil", drycrank::OutputKind::kCoil},
      {"trailing_coil", drycrank::OutputKind::kTrailingCoil},
      {"injector", drycrank::OutputKind::kInjector}};
};
inline constexpr Value kSeconds = Number("s", 0.001, kMaxRunS);

// ---- rows that several kinds have -----------------------------------------------------------

using Row = Field<Untied>;
inline constexpr Row kSettleRow = {
    "settle_s",
    {},
    Number("s", 0, kMaxRunS),
    "Not judged for so long after a step begins, while filters and displays catch up.",
    {},
    "0"};
inline constexpr Row kConditionRow = {
    "condition",
    {},
    Section("condition"),
    "What is looked at.",
    "condition: {signal: engine_fast.sync, equals: synchronised}"};
inline constexpr Row kMessageRow = {
    "message", {}, NameOf("a message"), "The message.", "message: engine_fast"};
inline constexpr Row kStimulusRow = {"stimulus",
                                     {},
                                     NameOf("a stimulus"),
                                     "The truth it must follow. Either this or a fixed value.",
                                     {},
                                     "value"};
inline constexpr Row kValueRow = {
    "value", {}, Number("of what is shown"), "A fixed value that must be seen.", {}, "stimulus"};
inline constexpr Row kAbsoluteRow = {
    "absolute",
    {},
    kTruth,
    "The stimulus is a gauge pressure, and absolute pressure must be seen: the barometer is added.",
    {},
    "false"};
inline constexpr Row kToleranceRow = {"tolerance",
                                      {},
                                      Difference("of the stimulus", 0, 1e9),
                                      "How far it may be off.",
                                      "tolerance: 2 K"};
inline constexpr Row kOverRow = {
    "over",
    {},
    OneOf<Dialect>(),
    "How the controller is asked: OBD, UDS, or not at all: J1939 sends its codes by itself (DM1).",
    {},
    "obd, without diagnostics dm1"};
inline constexpr Row kBusRow = {"bus", {}, NameOf("a bus"), "The bus.", "bus: vehicle"};

// ---- the tables -----------------------------------------------------------------------------

inline constexpr Row kFollowsKeys[] = {
    {"signal", {}, kSignal, "The signal on the bus.", "signal: engine_temps.coolant"},
    kToleranceRow,
    kStimulusRow,
    kValueRow,
    kAbsoluteRow,
    kSettleRow};
inline constexpr Row kHeldKeys[] = {kConditionRow,
                                    {"when",
                                     {},
                                     Section("condition"),
                                     "Judged only while this is true: an output, an age, or the "
                                     "crank, where the condition is one of "
                                     "them too.",
                                     {},
                                     "always"},
                                    kSettleRow};
inline constexpr Row kWithinKeys[] = {
    kConditionRow, {"within_s", {}, kSeconds, "How long it may take.", "within_s: 1 s"}};
inline constexpr Row kForAtLeastKeys[] = {
    kConditionRow, {"for_s", {}, kSeconds, "How long without a break.", "for_s: 1 s"}};
inline constexpr Row kPresentKeys[] = {
    kMessageRow,
    {"period_ms", {}, Number("ms", 1, 3.6e6), "Time from one to the next.", {}, "the message's"},
    {"jitter_ms",
     {},
     Number("ms", 0, 3.6e6),
     "By how much that time may differ.",
     "jitter_ms: 2 ms"},
    kSettleRow};
inline constexpr Row kGuardedKeys[] = {kMessageRow, kSettleRow};
inline constexpr Row kShowsKeys[] = {
    {"gauge", {}, NameOf("a gauge"), "The gauge.", "gauge: coolant"},
    {"unit", {}, kUnit, "Unit it must show.", {}, "any"},
    {"state", {}, OneOf(kStateWords), "What it must say of its value.", {}, "any"},
    kStimulusRow,
    kValueRow,
    kAbsoluteRow,
    {"tolerance",
     {},
     Difference("of the gauge", 0, 1e9),
     "How far it may be off.",
     {},
     "needed with stimulus or value"},
    kSettleRow};
inline constexpr Row kSynchronisedKeys[] = {
    kConditionRow,
    {"turns", {}, Number("", 0.1, 10000), "How many turns of the crank it may take.", "turns: 4"}};
inline constexpr Row kKnownMessagesKeys[] = {
    kBusRow,
    kSettleRow,
    {"also", {}, Whole(0, kMaxId29).List(), "Identifiers that may be there too.", {}, "none"}};
inline constexpr Row kNoErrorsKeys[] = {kBusRow, kSettleRow};
inline constexpr Row kControllerReadsKeys[] = {
    kOverRow,
    {"pid",
     {},
     Whole(0, 0xFF),
     "Number of the parameter (SAE J1979): 0x05 is coolant.",
     "pid: 0x05"},
    kToleranceRow,
    kStimulusRow,
    kValueRow,
    kAbsoluteRow,
    kSettleRow};
inline constexpr Row kTroubleCodeKindKeys[] = {
    kOverRow, {"within_s", {}, kSeconds, "How long it may take.", "within_s: 2 s"}};
// The code, over OBD and UDS, and over DM1.
inline constexpr Row kAskedCodeKeys[] = {
    {"code", {}, kText, "The code as SAE J2012 writes it: P0118.", {}, "needed"}};
inline constexpr Row kSentCodeKeys[] = {
    {"spn", {}, Whole(0, (1 << 19) - 1), "Number of the parameter (SAE J1939-73).", {}, "needed"},
    {"fmi", {}, Whole(0, 31), "How it failed.", {}, "needed"}};
inline constexpr Row kNoTroubleCodesKeys[] = {kOverRow, kSettleRow};

inline constexpr Row kCylinderRow = {"cylinder",           {}, Whole(1, kMaxCylinders),
                                     "Of which cylinder.", {}, "each"};
inline constexpr Row kToleranceDegRow = {"tolerance_deg",
                                         {},
                                         Number("deg", 0.01, 180),
                                         "How far it may be off, in degrees of the crank.",
                                         "tolerance_deg: 2"};
inline constexpr Value kWidthMs = Number("ms", 0.01, 1000);
inline constexpr Row kFiresAtKeys[] = {
    kCylinderRow,
    {"plug",
     {},
     OneOf<expect::Plug>(),
     "Which of a cylinder's two plugs: the trailing one has a coil of its own.",
     {},
     "leading"},
    {"advance_deg",
     {},
     Number("deg", -60, 90),
     "When, in degrees before the cylinder's firing top dead centre.",
     {},
     "the engine's advance_deg, of the trailing plug less its trailing_deg"},
    {"advance_at_rpm",
     {},
     PointsOf({"rpm", 0, 20000}, {"deg", -60, 90}),
     "Or over engine speed: rows of (r/min, degrees), straight between them.",
     {},
     "advance_deg"},
    kToleranceDegRow,
    {"dwell_at_least_ms", {}, kWidthMs, "The coil is driven at least so long.", {}, "any"},
    {"dwell_at_most_ms", {}, kWidthMs, "And at most so long.", {}, "any"},
    kSettleRow};
inline constexpr Row kInjectsAtKeys[] = {
    kCylinderRow,
    {"point",
     {},
     OneOf<expect::InjectionPoint>(),
     "What is looked at: it opens, or closes.",
     {},
     "end"},
    {"before_deg",
     {},
     Number("deg", -360, 720),
     "When, in degrees before the top dead centre of the cylinder's intake stroke.",
     "before_deg: 60"},
    kToleranceDegRow,
    {"open_at_least_ms", {}, kWidthMs, "The injector is open at least so long.", {}, "any"},
    {"open_at_most_ms", {}, kWidthMs, "And at most so long.", {}, "any"},
    kSettleRow};
inline constexpr Row kCamEdgesKeys[] = {
    {"cam",
     {},
     NameOf("a trigger"),
     "The trigger, named the same at the engine and at the controller.",
     "cam: cam_intake"},
    kToleranceDegRow,
    kSettleRow};
inline constexpr Row kOrderKeys[] = {
    {"output", {}, OneOf<drycrank::OutputKind>(), "What acts in that order.", {}, "coil"},
    kSettleRow};

inline constexpr KindKeys kExpectationKinds[] = {
    {"follows", "A signal on the bus is what the stimulus is.", kFollowsKeys},
    {"always", "A condition is true in each message received.", kHeldKeys},
    {"never", "A condition is true in no message received.", kHeldKeys},
    {"within", "A condition becomes true in time.", kWithinKeys},
    {"for_at_least", "A condition stays true for a time.", kForAtLeastKeys},
    {"message_present", "A message arrives at its period.", kPresentKeys},
    {"counter", "A message's counter counts by one: none is lost, none is old.", kGuardedKeys},
    {"checksum", "A message's checksum is right.", kGuardedKeys},
    {"display_shows", "A gauge shows the right value, unit or warning.", kShowsKeys},
    {"synchronised", "A condition becomes true within some turns of the crank.", kSynchronisedKeys},
    {"only_known_messages", "Nobody sends what the bench does not know.", kKnownMessagesKeys},
    {"no_error_frames", "Nobody reports an error on the bus.", kNoErrorsKeys},
    {"controller_reads", "The controller, asked by a tester, says what the stimulus is.",
     kControllerReadsKeys},
    {"trouble_code", "The controller has a trouble code.", kTroubleCodeKindKeys},
    {"no_trouble_codes", "The controller has none.", kNoTroubleCodesKeys},
    {"fires_at", "Each spark comes at its degree of the crank, and none is left out.",
     kFiresAtKeys},
    {"injects_at", "Each injection comes at its degree of the crank.", kInjectsAtKeys},
    {"cam_edges",
     "Each edge of a cam is at its place against the crank wheel: none missing, none too many.",
     kCamEdgesKeys},
    {"order", "Coils or injectors act in the engine's firing order.", kOrderKeys},
};
static_assert(std::size(kExpectationKinds) + 1 == std::variant_size_v<ExpectationKind>,
              "each kind has its keys above, but for 'witnessed', which stands in no file");
inline constexpr auto kExpectationWords = KindWords(kExpectationKinds);

inline constexpr Row kExpectationKeys[] = {
    {"name",
     {},
     NameOf("the expectation"),
     "Its name, in reports.",
     "name: coolant_reaches_controller"},
    {"kind", {}, OneOf(kExpectationWords), "What is required.", "kind: follows"},
    {"means",
     {},
     kText,
     "What its failure means to a person at the bench, in one sentence.",
     "means: what it means to a person when it fails"},
    {"proves",
     {},
     NameOf("a circuit").List(),
     "A note for people: circuits to look at when it fails. What is proven is not read here: it is "
     "found out for each circuit by what would have been reported with it open."},
    {"during", {}, NameOf("a step").List(1), "Judged in these steps only.", {}, "the whole run"},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_EXPECTATION_H_
