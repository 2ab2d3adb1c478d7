// SPDX-License-Identifier: Apache-2.0
//
// Text from outside (names, titles, notes, causes) before it goes where it could do more than be
// read: to a terminal, which obeys control characters, and into a line of CSV, which a line break or
// a comma would end. For HTML, SVG and XML see markup.h, which keeps the same characters out.
#ifndef DRYCRANK_TYPES_PLAIN_TEXT_H_
#define DRYCRANK_TYPES_PLAIN_TEXT_H_

#include <string>
#include <string_view>

namespace drycrank {

// Line breaks and tabs as spaces; control characters and bytes that are not UTF-8 as U+FFFD.
std::string OneLine(std::string_view text);
// Whether it holds any of what OneLine makes U+FFFD.
bool HasControl(std::string_view text);

// One field of a CSV line: OneLine, and in quotes where RFC 4180 (clause 2, rules 6 and 7) wants them:
//   a "b", c      "a ""b"", c"
std::string CsvQuoted(std::string_view text);
// The text of such a field; a text that was never quoted stays as it is.
std::string CsvUnquoted(std::string_view field);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_PLAIN_TEXT_H_
