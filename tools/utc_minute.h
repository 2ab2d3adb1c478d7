// SPDX-License-Identifier: Apache-2.0
#ifndef DRYCRANK_TOOLS_UTC_MINUTE_H_
#define DRYCRANK_TOOLS_UTC_MINUTE_H_

#include <string>

namespace drycrank::tools {

// Now, by the clock of the wall: "2026-03-01 14:05 UTC".
std::string UtcMinute();

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_UTC_MINUTE_H_
