// SPDX-License-Identifier: Apache-2.0
//
// What the program was compiled with: compiler and libraries, as CMake found them. What it has loaded when
// it runs is asked of the system (io/loaded_libraries.h): the two may differ after an update.
#ifndef DRYCRANK_RECORD_MADE_WITH_H_
#define DRYCRANK_RECORD_MADE_WITH_H_

#include <span>

namespace drycrank::record {

struct MadeWith {
  const char* name;     // "Boost"
  const char* version;  // "1.81.0"
};

std::span<const MadeWith> PartsMadeWith();

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_MADE_WITH_H_
