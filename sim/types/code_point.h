// SPDX-License-Identifier: Apache-2.0
//
// UTF-8 (RFC 3629), code point by code point, and which of them no text may hold.
#ifndef DRYCRANK_TYPES_CODE_POINT_H_
#define DRYCRANK_TYPES_CODE_POINT_H_

#include <cstddef>
#include <string>
#include <string_view>

namespace drycrank {

// Stands for bytes that are not UTF-8, and for characters that have no place in a text.
inline constexpr char32_t kReplacement = 0xFFFD;

// The code point at `pos`, which moves past it: past three bytes for a kReplacement that the text
// holds itself, past one for a bad byte. REQUIRES: pos < text.size().
char32_t NextCodePoint(std::string_view text, std::size_t& pos);
void AppendCodePoint(char32_t code, std::string& out);

// Space, tab, line feed, carriage return.
bool IsSpace(char32_t c);
// All that XML 1.0 (5th edition, production [2] Char) has no place for, but for the surrogates,
// which are no UTF-8:
//   Char ::= #x9 | #xA | #xD | [#x20-#xD7FF] | [#xE000-#xFFFD] | [#x10000-#x10FFFF]
// and U+007F to U+009F, which that standard advises against (clause 2.2) and a terminal obeys; U+2028 and
// U+2029, at which some readers end a line; the embeddings, overrides and isolates of Unicode's
// bidirectional algorithm (UAX #9, 2.1 to 2.5), which let a line read as another than it is; what has no
// width and joins no letters (U+200B, U+2060 to U+2064, U+FEFF, the tags U+E0000 to U+E007F), so that
// two names look the same.
bool IsControl(char32_t c);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_CODE_POINT_H_
