// SPDX-License-Identifier: Apache-2.0
//
// Text for people: widths, wrapping, and numbers with as many decimals as their size deserves.
// Everything here is independent of the locale. Names and labels come from profiles and may hold
// anything: bytes that are not UTF-8, and control characters, become U+FFFD.
#ifndef DRYCRANK_REPORT_TEXT_H_
#define DRYCRANK_REPORT_TEXT_H_

#include <string>
#include <string_view>
#include <vector>

#include "types/time.h"

namespace drycrank::report {

// Valid UTF-8 on one line, without control characters: safe to print on a terminal.
std::string PlainLine(std::string_view text);

// Columns a terminal needs for it: combining marks take none, wide characters two.
int Width(std::string_view text);

// `text` padded with spaces to `width` columns; longer text is returned as it is.
std::string PadRight(std::string text, int width);
std::string PadLeft(std::string text, int width);

// `text` with a no-break space between a number and the short word (a unit) behind it, and after ±.
std::string KeepUnits(std::string_view text);

// Lines of at most `width` columns, broken at spaces but not before a unit, or inside a word that
// is longer than a line. At least one line. REQUIRES: width >= 2.
std::vector<std::string> Wrap(std::string_view text, int width);

// A key as a page shows it: "head_head_temperature" is "Head temperature". The programs' own files
// keep the key.
std::string LabelOf(std::string_view key);

// "a, b, c"
std::string Join(const std::vector<std::string>& parts, std::string_view between = ", ");

// Shown instead of a number that is not finite, and of a margin that does not exist.
inline constexpr std::string_view kNoNumber = "—";

// "-0.0" does not occur, nor "nan" and "inf".
std::string Number(double value, int decimals);

// Two significant digits of `scale`: 2.0 -> 1, 50 -> 0, 0.05 -> 3. [0, 6]
int DecimalsFor(double scale);

// "141.0 °C", "12°", "5 %". The unit is canonical.
std::string Quantity(double value, std::string_view unit, int decimals);
// With its sign, and with more decimals where a value other than zero would look like zero.
std::string SignedQuantity(double value, std::string_view unit, int decimals);

// A number that a profile wrote: as few digits as it needs, "2.5 kPa".
std::string Given(double value, std::string_view unit = {});

// "4.210 s"
std::string Seconds(TimeNs t_ns);

// "1 circuit", "3 circuits"
std::string Counted(std::size_t count, std::string_view singular);

// A share of belief, [0, 1], as a person reads it: "35 %", "<1 %", at most "96 %", whatever the weights
// say: in worlds that the model does not know, what it was surest of was right that often
// (hw-notes/reading-a-diagnosis.md, 2,000 of them).
std::string Believed(double share);
inline constexpr double kMostBelieved = 0.96;
// What goes with it, where a share is shown.
inline constexpr const char* kBelievedNote =
    "No more than 96 % is said: where this was measured, 97 in 100 of the surest answers were "
    "right, and "
    "fewer where two things were wrong at once. Measure before you cut.";

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_TEXT_H_
