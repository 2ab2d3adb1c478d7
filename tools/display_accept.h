// SPDX-License-Identifier: Apache-2.0
//
// drycrank display sweep --accept: what DIR/shown.csv has was looked at, and is kept as
// DIR/accepted.csv with the name of who looked. Refused, with what to do first: a result without
// facts, one in which readouts are missing or the display fell silent, one of another bench or of a
// bench that was changed since, and one that contradicts what must be shown. What was accepted
// before is not lost unasked: where it was shown otherwise, to another witness or found right by
// somebody else, that is said and refused without --overwrite.
#ifndef DRYCRANK_TOOLS_DISPLAY_ACCEPT_H_
#define DRYCRANK_TOOLS_DISPLAY_ACCEPT_H_

#include <string>

namespace drycrank::tools {

// An exit code; what is wrong is said on standard error.
int AcceptShown(const std::string& bench, const std::string& folder, const std::string& by,
                bool overwrite);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DISPLAY_ACCEPT_H_
