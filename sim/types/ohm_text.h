// SPDX-License-Identifier: Apache-2.0
//
// Ohms for people, three digits: "47.5 Ω", "2.93 kΩ", "1 MΩ".
#ifndef DRYCRANK_TYPES_OHM_TEXT_H_
#define DRYCRANK_TYPES_OHM_TEXT_H_

#include <string>

namespace drycrank {

std::string OhmText(double ohm);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_OHM_TEXT_H_
