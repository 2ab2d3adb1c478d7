// SPDX-License-Identifier: Apache-2.0
//
// What is to be set in a display: how its signals lie in their messages, from the buses, and what it
// must show, from the bench's readouts and switching. Part of settings.h.
#ifndef DRYCRANK_PROOFREAD_SETTINGS_DISPLAY_H_
#define DRYCRANK_PROOFREAD_SETTINGS_DISPLAY_H_

#include <string>

#include "profile/bench.h"

namespace drycrank::proofread {

// A section for each bus, each page, and how it goes on and off.
std::string DisplayText(const profile::Bench& bench);
const char* Word(profile::Keeps keeps);  // "highest"; "nothing"
const char* Word(profile::SegmentLights lights);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_SETTINGS_DISPLAY_H_
