// SPDX-License-Identifier: Apache-2.0
//
// What a scenario requires: what all expectations have, and one struct for each kind with what it
// needs besides. A new kind is added here and to the variant; the compiler then leads to its reader
// (load_expectation.cc), its judge (check/judge.h) and its words (report/requirement.cc); one that
// needs frames also to the reading that carries them (study/requirements.cc).
//
// Rejected: one struct with the members of all kinds. It cannot say which of them a kind has.
#ifndef DRYCRANK_PROFILE_EXPECTATION_H_
#define DRYCRANK_PROFILE_EXPECTATION_H_

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "profile/bench.h"
#include "profile/condition.h"
#include "types/output_event.h"
#include "types/points.h"

namespace drycrank::profile {

// What an expectation is judged by. Each kind says it; whoever treats several kinds alike asks for
// this, and keeps no list of them.
enum class Needs {
  kFrames,   // what is on the bus, at any time
  kStretch,  // the same, over a stretch of time
  kBegin,    // when its step began, too
  kTurns,    // how far the crank has turned since it began to, too
  kOutputs,  // which output acts after which
  kAngles,   // where the crank is at an edge or when an output acts
  kAnswers,  // what a tester or a person is told
};

namespace expect {

// What a reported value should be: that of a stimulus, or a fixed one.
struct Target {
  int stimulus = -1;
  std::optional<double> value;  // instead of a stimulus
  double tolerance = 0;         // in the unit of the stimulus or signal; of a gauge: in its own
  bool absolute = false;        // gauge-pressure stimulus plus barometer
};

// A signal follows its target within the tolerance.
struct Follows {
  static constexpr const char* kWord = "follows";
  static constexpr Needs kNeeds = Needs::kFrames;
  SignalRef signal;
  std::string signal_text;  // "engine_temps.coolant"
  Target target;
};
// The condition holds whenever its message arrives.
struct Always {
  static constexpr const char* kWord = "always";
  static constexpr Needs kNeeds = Needs::kFrames;
  Condition condition;
};
struct Never {
  static constexpr const char* kWord = "never";
  static constexpr Needs kNeeds = Needs::kFrames;
  Condition condition;
};
// The condition comes true within within_s after the begin of its time.
struct Within {
  static constexpr const char* kWord = "within";
  static constexpr Needs kNeeds = Needs::kBegin;
  Condition condition;
  double within_s = 0;
};
// The condition holds for at least for_s without interruption.
struct ForAtLeast {
  static constexpr const char* kWord = "for_at_least";
  static constexpr Needs kNeeds = Needs::kStretch;
  Condition condition;
  double for_s = 0;
};
// The message arrives with period_ms +- jitter_ms.
struct MessagePresent {
  static constexpr const char* kWord = "message_present";
  static constexpr Needs kNeeds = Needs::kFrames;
  MessageRef message;
  std::string message_text;
  double period_ms = 0, jitter_ms = 0;
};
// The message's rolling counter rolls by one.
struct Counter {
  static constexpr const char* kWord = "counter";
  static constexpr Needs kNeeds = Needs::kFrames;
  MessageRef message;
  std::string message_text;
};
// The message's checksum is right.
struct Checksum {
  static constexpr const char* kWord = "checksum";
  static constexpr Needs kNeeds = Needs::kFrames;
  MessageRef message;
  std::string message_text;
};
// A gauge shows the target, a unit, a state: what of these is given.
struct DisplayShows {
  static constexpr const char* kWord = "display_shows";
  static constexpr Needs kNeeds = Needs::kFrames;
  int gauge = -1;
  Target target;
  std::optional<std::string> unit;   // canonical
  std::optional<std::string> state;  // "ok", "warning", "stale"
};
// The condition comes true within `turns` crank turns of the first turn.
struct Synchronised {
  static constexpr const char* kWord = "synchronised";
  static constexpr Needs kNeeds = Needs::kTurns;
  Condition condition;
  double turns = 0;
};
// Each frame of the bus has an identifier that the bench gives it.
struct OnlyKnownMessages {
  static constexpr const char* kWord = "only_known_messages";
  static constexpr Needs kNeeds = Needs::kFrames;
  int bus = -1;
  std::string bus_text;
  std::vector<std::uint32_t> also;  // identifiers that may be there too
};
// No error is reported on the bus.
struct NoErrorFrames {
  static constexpr const char* kWord = "no_error_frames";
  static constexpr Needs kNeeds = Needs::kFrames;
  int bus = -1;
  std::string bus_text;
};
// The controller, asked, says the target within the tolerance.
struct ControllerReads {
  static constexpr const char* kWord = "controller_reads";
  static constexpr Needs kNeeds = Needs::kAnswers;
  Question question;
  Target target;
};
// The controller, asked, has the trouble code within within_s.
struct TroubleCode {
  static constexpr const char* kWord = "trouble_code";
  static constexpr Needs kNeeds = Needs::kAnswers;
  Question question;
  double within_s = 0;
};
// The controller, asked, has none.
struct NoTroubleCodes {
  static constexpr const char* kWord = "no_trouble_codes";
  static constexpr Needs kNeeds = Needs::kAnswers;
  Question question;
};
enum class Plug { kLeading, kTrailing };
// When a coil fires, against the crank as it really turns: each spark at its degree, none left out.
struct FiresAt {
  static constexpr const char* kWord = "fires_at";
  static constexpr Needs kNeeds = Needs::kAngles;
  int cylinder = 0;  // 0: each
  Plug plug = Plug::kLeading;
  Points advance_at_rpm;   // due, degrees before its top dead centre; one point: at every speed
  double tolerance_deg = 0;
  std::optional<double> dwell_at_least_ms, dwell_at_most_ms;
};
enum class InjectionPoint { kBegin, kEnd };
// When an injector opens or closes, against the crank as it really turns.
struct InjectsAt {
  static constexpr const char* kWord = "injects_at";
  static constexpr Needs kNeeds = Needs::kAngles;
  int cylinder = 0;  // 0: each
  InjectionPoint point = InjectionPoint::kEnd;
  double before_deg = 0;  // before the top dead centre of its intake stroke
  double tolerance_deg = 0;
  std::optional<double> open_at_least_ms, open_at_most_ms;
};
// Each edge of a cam is at its place against the crank wheel, none missing, none too many.
struct CamEdges {
  static constexpr const char* kWord = "cam_edges";
  static constexpr Needs kNeeds = Needs::kAngles;
  int trigger = -1;  // index into Bench::triggers ...
  int input = -1;    // ... and into the controller's, which sees it
  std::string cam;
  double tolerance_deg = 0;
};
// Coils or injectors act in the engine's firing order.
struct Order {
  static constexpr const char* kWord = "order";
  static constexpr Needs kNeeds = Needs::kOutputs;
  drycrank::OutputKind output = drycrank::OutputKind::kCoil;
};
// An operator or a capture says so. Not in files: a walk adds it.
struct Witnessed {
  static constexpr const char* kWord = "witnessed";
  static constexpr Needs kNeeds = Needs::kAnswers;
  std::string text;  // what was asked
};

}  // namespace expect

using ExpectationKind =
    std::variant<expect::Follows, expect::Always, expect::Never, expect::Within, expect::ForAtLeast,
                 expect::MessagePresent, expect::Counter, expect::Checksum, expect::DisplayShows,
                 expect::Synchronised, expect::OnlyKnownMessages, expect::NoErrorFrames,
                 expect::ControllerReads, expect::TroubleCode, expect::NoTroubleCodes,
                 expect::FiresAt, expect::InjectsAt, expect::CamEdges, expect::Order,
                 expect::Witnessed>;  // the last: load_expectation.cc

struct Expectation {
  std::string name;
  ExpectationKind kind;
  std::string means;                // what its failure means to a person at the bench
  std::vector<std::string> proves;  // circuits that its author looks at first; no evidence
  std::vector<std::string> during;  // steps; empty = the whole run
  double settle_s = 0;              // not judged for so long after a step begins
  Place place;
  std::optional<Condition> when = {};  // judged only while this is true; never on a signal
};

// The word of the YAML file for it.
const char* Name(const ExpectationKind& kind);
// The condition that a kind has, or null.
const Condition* ConditionOf(const ExpectationKind& kind);
Needs NeedsOf(const ExpectationKind& kind);
// What the controller is asked for it, or null.
const Question* QuestionOf(const ExpectationKind& kind);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_EXPECTATION_H_
