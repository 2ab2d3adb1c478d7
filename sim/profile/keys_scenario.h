// SPDX-License-Identifier: Apache-2.0
//
// Keys of a scenario: steps, what they drive, recordings (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_SCENARIO_H_
#define DRYCRANK_PROFILE_KEYS_SCENARIO_H_

#include "profile/key.h"
#include "profile/keys_bus.h"
#include "profile/scenario_file.h"
#include "types/format_number.h"

namespace drycrank::profile {

inline constexpr std::string_view kScenarioWord[] = {"scenario"};
inline constexpr double kMaxRecordingS = 1e7;  // 115 days

template <>
struct EnumWords<PlayedAt> {
  static constexpr Word<PlayedAt> kAll[] = {{"controller", PlayedAt::kController},
                                            {"sensor", PlayedAt::kSensor}};
};

inline constexpr Value kPlayedCapture = Section("played_capture");
inline constexpr Field<Scenario> kScenarioKeys[] = {
    {"kind", {}, OneOf(kScenarioWord), "Says that this file is a scenario.", "kind: scenario"},
    {"format", {}, Whole(1, kScenarioFormat), "Format number of the file.", {}, "1"},
    {"bench",
     {},
     kText,
     "The bench's file, relative to this one.",
     "bench: ../../benches/hill_climb.yaml"},
    {"name", To<&Scenario::name>, NameOf("the scenario"), "Name of the scenario, in records.",
     "name: my_scenario"},
    {"title", To<&Scenario::title>, kText, "Heading of reports.", {}, "the name"},
    {"seed", To<&Scenario::seed>, Whole(0, INT64_MAX),
     "Where all chance begins: noise of coils, jitter. The same seed gives the same run."},
    {"start_deg", To<&Scenario::start_deg>, Number("deg", 0, 719.999),
     "Where the crank stands at the begin: degrees after cylinder 1's firing top dead centre."},
    {"steps",
     {},
     Section("step").List(1),
     "What happens, one after the other; 24 h at most.",
     "steps: [{name: idle, for_s: 2 s}]"},
    {"faults", {}, Section("fault").List(), "What is wrong, and when."},
    {"replay", {}, Section("replay").List(), "Recordings that are played as traffic of a bus."},
    {"capture",
     {},
     kText.Or(kPlayedCapture),
     "A trace of a real engine that turns here in the place of the bench's crank and cams: a file, "
     "relative to this one, or more about it. See hw-notes/captures.md.",
     {},
     "none"},
    {"expect", {}, Section("expectation").List(), "What must be seen."},
};

inline constexpr Value kDriven = Section("drive");
inline constexpr Field<Step> kStepKeys[] = {
    {"name",
     {},
     NameOf("the step"),
     "Name of the step; faults and expectations name it.",
     "name: idle"},
    {"wait_for",
     {},
     Section("condition"),
     "Ends the step as soon as this is true.",
     {},
     "no condition"},
    {"for_s",
     To<&Step::for_s>,
     Number("s", 0.001, kMaxRunS),
     "How long it lasts, without wait_for.",
     {},
     "needed, or wait_for"},
    {"drive",
     {},
     Number("of the stimulus").Or(kDriven).Named(),
     "What it does to stimuli: a value that is held, or a drive. It lasts until another step "
     "drives the same one."},
};
inline constexpr Field<Step> kWaitKeys[] = {
    {"limit_s", To<&Step::for_s>, Number("s", 0.001, kMaxRunS), "The step ends then at the latest.",
     "limit_s: 5 s"},
};

inline constexpr std::string_view kCrankWords[] = {"standing", "turning"};
inline constexpr Field<Untied> kConditionKeys[] = {
    {"signal",
     {},
     kSignal,
     "The signal that is looked at.",
     {},
     "needed, or output, age_of, crank"},
    {"output",
     {},
     NameOf("an output"),
     "Or an output, as it acts: coil, injector (any of them), coil_1, injector_3, or an output "
     "that "
     "a protection switches; with equals: on or off. In expectations only.",
     {},
     "none"},
    {"age_of",
     {},
     NameOf("a channel"),
     "Or the time since the last edge of an output or of a trigger of the controller; with above "
     "or "
     "below. In expectations only.",
     {},
     "none"},
    {"crank", {}, OneOf(kCrankWords), "Or the crank itself. In expectations only.", {}, "none"},
    {"equals", {}, kScalar, "It has this value, or is in this state (by name)."},
    {"not_equals", {}, kScalar, "It has another value."},
    {"above", {}, kScalar, "It is higher."},
    {"below", {}, kScalar, "It is lower. One of equals, not_equals, above, below."},
};

inline constexpr Value kDrivePoints = PointsOf({"s", 0, kMaxRunS}, {"of the stimulus"});
inline constexpr Field<Drive> kDriveKeys[] = {
    {"points",
     {},
     Section("drive_csv").Or(kDrivePoints),
     "Rows of (s, value), [[0, 18], [2, 35]], straight between them, or columns of a CSV file. One "
     "of points, hold, ramp, sine, crank."},
    {"hold", To<&Drive::to>, Number("of the stimulus"), "Holds this value.", {}, "none"},
    {"ramp", To<&Drive::to>, Number("of the stimulus"), "Goes straight to this value.", {}, "none"},
    {"sine", To<&Drive::to>, Number("of the stimulus"), "Swings around this value.", {}, "none"},
    {"crank",
     To<&Drive::to>,
     Number("of the stimulus"),
     "Of engine_speed: turns as a starter does, at this mean speed, slower in each compression.",
     {},
     "none"},
};
inline constexpr Field<Drive> kRampKeys[] = {
    {"over_s",
     To<&Drive::over_s>,
     Number("s", 0, kMaxRunS),
     "How long the ramp takes.",
     {},
     "the step"},
};
inline constexpr Field<Drive> kSineKeys[] = {
    {"amplitude", To<&Drive::amplitude>, Difference("of the stimulus", 0),
     "How far it swings to each side.", "amplitude: 10"},
    {"period_s", To<&Drive::period_s>, Number("s", 0.001, kMaxRunS), "How long one swing takes.",
     "period_s: 2 s"},
};
inline constexpr Field<Untied> kDriveCsvKeys[] = {
    {"csv", {}, kText, "The file, relative to this one.", "csv: lap.csv"},
    {"time", {}, kText, "Heading of the column with the seconds, from 0 on.", "time: t_s"},
    {"value", {}, kText, "Heading of the column with the values.", "value: speed"},
};

inline constexpr Field<Replay> kReplayKeys[] = {
    {"file",
     {},
     kText,
     "The recording: a candump log or pcapng, relative to this file.",
     "file: drive.pcapng"},
    {"bus", {}, NameOf("a bus"), "The bus it is played on.", {}, "the only one"},
    {"interface",
     To<&Replay::interface>,
     kText,
     "Which interface of the recording.",
     {},
     "that of the bus's name, or the only one"},
    {"speed", To<&Replay::speed>, Number("", 0.001, 1000), "2 is twice as fast as recorded."},
    {"begin_s", To<&Replay::begin_s>, Number("s", 0, kMaxRunS), "When in the run it begins."},
    {"from_s", To<&Replay::from_s>, Number("s", 0, kMaxRecordingS),
     "What of the recording is played: from here, counted from its own begin."},
    {"to_s", To<&Replay::to_s>, Number("s", 0, kMaxRecordingS), "And to here.", {}, "its end"},
    {"loop", To<&Replay::loop>, kTruth,
     "Begins again at its end; not where a round with its pause takes less than 1 ms."},
    {"pause_s", To<&Replay::pause_s>, Number("s", 0.001, kMaxRunS),
     "Between the last frame and the first of the next round."},
    {"instead_of",
     {},
     OneOf(kSenderWords).List(),
     "Whose messages come from the recording; they leave them out meanwhile.",
     {},
     "simulator, controller"},
    {"only", {}, kPlug.List(), "Only these messages or identifiers are played.", {}, "all"},
    {"without", {}, kPlug.List(), "These are not.", {}, "none"},
    {"override",
     {},
     kSignals.Named(),
     "Signals that get live values in the recorded frames: {engine_fast: {speed: engine_speed}}; "
     "without signals, all that carry a stimulus. Counter and checksum are made anew.",
     {},
     "none"},
};

inline constexpr Field<PlayedCapture> kPlayedCaptureKeys[] = {
    {"file",
     {},
     kText,
     "The trace: CSV, WAV, VCD or .sr, relative to this file.",
     "file: idle.csv"},
    {"map",
     {},
     kText,
     "What stands in its columns (kind: capture), relative to this file.",
     {},
     "columns called as the bench's triggers"},
    {"at", To<&PlayedCapture::at>, OneOf<PlayedAt>(),
     "Where it was taken. controller: at its pins, which it drives, by-passing the harness; "
     "sensor: "
     "before the harness, which it goes through."},
    {"begin_s", To<&PlayedCapture::begin_s>, Number("s", 0, kMaxRunS),
     "When in the run it begins. Before, and after its end, the engine stands still."},
    {"from_s", To<&PlayedCapture::from_s>, Number("s", 0, kMaxRecordingS),
     "What of it is played: from here, counted from its own begin."},
    {"to_s",
     To<&PlayedCapture::to_s>,
     Number("s", 0, kMaxRecordingS),
     "And to here.",
     {},
     "its end"},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_SCENARIO_H_
