// SPDX-License-Identifier: Apache-2.0
//
// What a comparison of two things found, written for people and for other programs. Who compares
// says what a subject is: a readout of a display, an expectation, a circuit.
#ifndef DRYCRANK_TYPES_CHANGES_H_
#define DRYCRANK_TYPES_CHANGES_H_

#include <span>
#include <string>
#include <vector>

namespace drycrank {

struct Change {
  std::string subject;
  std::string kind;      // one word, for programs: "limit"
  std::string sentence;  // "warning now comes above 107 °C, was 110 °C"
};

// A line for each change ("SUBJECT: sentence"), then `rest`: how much is as before. Then the notes.
std::string ChangesText(std::span<const Change> changes, const std::string& rest,
                        std::span<const std::string> notes);
// JUnit XML: one case for each subject; its changes are one failure of the kind of the first, what
// was not shown of it one error.
std::string ChangesJunit(std::span<const Change> changes, std::span<const std::string> subjects,
                         const std::string& suite, std::span<const Change> not_shown = {});
// The first bytes of a text, `most` at the most, no character cut.
std::string FirstOf(std::string text, std::size_t most);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_CHANGES_H_
