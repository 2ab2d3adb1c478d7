// SPDX-License-Identifier: Apache-2.0
//
// What a display showed, as facts: one line each, sorted, made to be kept in version control and
// compared (compare_shown.h). Nothing of the clock or of this computer stands in it, but when it
// ended too soon.
//
//   # drycrank: what it showed
//   # format: 1                        2: with "at question"
//   # bench: hill_climb
//   # judged: as it must be
//   # smoothed: coolant
//   # ended: oil: gone at 6.0 s, before the rest of it
//   # not shown: gear: not answered: 3, lamp test
//   readout,step,input,page,text,unit,state,lamp
//   coolant,up,95,1,95,degC,ok,
//   coolant,warns above,112,1,quiet at 112; warns at 113,degC,,red
//
//   step          input                              text
//   at power on   -                                  before the first message
//   up, down      what was sent, in the unit that    what stood there; down: coming from above
//                 the readout must have
//   up at question 4  the same, at that one of a person's six questions, where the value alone does
//                 not say what must stand there: an earlier one has sent the same, a lamp that
//                 latches has warned before, or what was sent before is kept
//   warns above   the limit, in the same unit: the   where it was still quiet and where it warned
//   ends below    nicest number that explains both   the first that lets go, the last that warns
//   warns below   (nothing: "never", "all the way", "no end" instead)
//   ends above
//   gone after    seconds without its message        what then stood there
//   back          -                                  with the message back
//   not available -                                  where its message says that it has no value
//   after the warning -                              with the warning over
//   acknowledged  -                                  the same, then acknowledged
//   acknowledged while it warns -
//   stands after  seconds since power came           the first value that stood there
//   lamp test     seconds since power came           "lit until"; "none"
//   off after     seconds since the key went off     what then stood there
//   kept          what was sent after the highest    what stood there; asked of a person alone
//                 or lowest there is
//   other keys    -                                  with every other signal sent low and high: what
//                                                    latches, blinks or is kept stays
//
// A bar has "12 of 20" as its text: so many of its segments are lit; 12 of an echo or a person who did
// not count the others. A lamp that blinks is written "red blinks 2 Hz", or "red blinks" by whoever cannot tell how fast.
#ifndef DRYCRANK_SWEEP_WHAT_IT_SHOWED_H_
#define DRYCRANK_SWEEP_WHAT_IT_SHOWED_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::sweep {

// One value on the screen.
struct Shown {
  int page = 0;  // 0: not told
  std::string text = {};
  std::string unit = {};  // canonical
  // "ok", "warning", "stale", "not available", "off"; "absent": on no page; empty: not told
  std::string state = {};
  std::string lamp = {};  // the one that is lit; empty: dark

  friend bool operator==(const Shown&, const Shown&) = default;
};

enum class Step {
  kPowerOn,
  kUp,
  kDown,
  kWarnsAbove,
  kEndsBelow,
  kWarnsBelow,
  kEndsAbove,
  kGoneAfter,
  kBack,
  kNotAvailable,
  kAfterWarning,
  kAcknowledged,
  kAcknowledgedWarning,
  kStandsAfter,
  kLampTest,
  kOffAfter,
  kKept,
  kOtherKeys
};
inline constexpr int kStepCount = static_cast<int>(Step::kOtherKeys) + 1;
const char* Name(Step step);
struct ShownFact;
std::string StepOf(const ShownFact& fact);  // "up at question 4"

struct ShownFact {
  std::string readout;
  Step step = Step::kUp;
  std::optional<double> input;
  Shown shown;
  int question = 0;  // of the six: where it follows another state
  int line = 0;      // of the file it was read from

  // As they are written: an input that was read back is the one that was sent.
  friend bool operator==(const ShownFact& a, const ShownFact& b);
};

// A value of the readout stands there, and no word for that there is none.
inline bool HasValue(const Shown& shown) { return shown.state == "ok" || shown.state == "warning"; }
// "red" of "red blinks 2 Hz"; and whether it blinks.
inline constexpr char kBlinks[] = " blinks";
std::string LampName(const std::string& lamp);
bool Blinks(const std::string& lamp);

// Of a bar, "12 of 20" segments are lit; whoever did not count them all tells "12".
inline constexpr char kLitOf[] = " of ";
bool IsBar(const std::string& text);
std::string LitOf(const std::string& text);  // "12" of a bar, else the text

// Texts of a lamp test.
inline constexpr char kLitUntil[] = "lit until", kNoTest[] = "none";
// Texts of a limit that is no number.
inline constexpr char kNever[] = "never", kAlways[] = "all the way", kNoEnd[] = "no end";

struct Ended {
  std::string readout, why;  // "gone at 6.0 s, before the rest of it"
};

// What was shown to whom, by whom: said in a comparison, and no part of what is compared.
struct ShownBy {
  std::string bench, bench_hash, version;
  std::string seed;
  std::string witness;      // "stand-in", "echo", "a person: R. Fitter"
  std::string accepted_by;  // who looked at it and found it right; empty: nobody yet
  // Against what must be shown: kAsRequired, or which readouts show something else; empty: not
  // known.
  std::string judged = {};
  // Readouts that stand here only up to where the sweep ended: what of them is missing was not
  // shown.
  std::vector<Ended> ended = {};
  // Of a person or pictures, which questions about it were not answered; the first of it alone.
  std::vector<Ended> not_shown = {};
  // Readouts whose value came to its end in many steps: what they show depends on the side it came
  // from.
  std::vector<std::string> smoothed = {};
};
inline constexpr char kAsRequired[] = "as it must be";

struct WhatItShowed {
  ShownBy by;
  std::vector<ShownFact> facts;  // sorted
};

void Sort(std::vector<ShownFact>& facts);
inline constexpr char kShownTitle[] = "# drycrank: what it showed";  // its first line
std::string TextOf(const WhatItShowed& showed);

struct [[nodiscard]] ReadShown {
  std::optional<WhatItShowed> showed;
  Diagnostics problems;
};
// `file` names the text in problems.
ReadShown ParseShown(const std::string& file, const std::string& text);

// The number with the fewest digits in [low, high); with both ends open where `above_low`: (low,
// high]. REQUIRES: low < high.
double NicestIn(double low, double high, bool above_low = false);
// With six digits at most: "112", "14.9972".
std::string Plain(double number);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_WHAT_IT_SHOWED_H_
