// SPDX-License-Identifier: Apache-2.0
//
// What the mode of a run says, as a record keeps it:
//   "real time; stand-ins: display only; outputs: driven"
#ifndef DRYCRANK_TOOLS_MODE_WORDS_H_
#define DRYCRANK_TOOLS_MODE_WORDS_H_

#include <string>
#include <string_view>

namespace drycrank::tools {

// `part`: "controller" or "display". No stand-in played it.
bool WasReal(std::string_view mode, const std::string& part);
// The bench's outputs drove what they stand in the place of.
bool WereOutputsDriven(std::string_view mode);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_MODE_WORDS_H_
