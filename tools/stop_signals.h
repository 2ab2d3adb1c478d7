// SPDX-License-Identifier: Apache-2.0
//
// For who waits for something else as well: a stop signal that came just before the wait must end it, and it
// may be another thread that takes it. So each writes into a pipe that can be polled with the rest.
#ifndef DRYCRANK_TOOLS_STOP_SIGNALS_H_
#define DRYCRANK_TOOLS_STOP_SIGNALS_H_

#include <optional>
#include <string>

namespace drycrank::tools {

// Readable, and for ever, once a stop is asked for; -1, which poll(2) passes over: signals are not caught.
int StopDescriptor();

// A line from standard input without blanks at its ends; nothing at the end of input or when a stop is asked
// for. All that ask on the terminal ask here: what has been typed ahead is in one place.
std::optional<std::string> TypedLine();

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_STOP_SIGNALS_H_
