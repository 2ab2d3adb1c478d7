// SPDX-License-Identifier: Apache-2.0
//
// A controller that has been told something else than its bench file says: the file's, with what
// faults of kind `told` change. A wheel in short, places and how many of the last are without tooth:
//
//   "36-1"   36 places, tooth k begins (k - 1) 10 degrees after the first and fills half its place;
//            the last is missing
//
// as profiles/parts/wheels has them. Teeth that only look like another wheel's (vanes, windows) have
// no short name.
#ifndef DRYCRANK_PROFILE_TOLD_CONTROLLER_H_
#define DRYCRANK_PROFILE_TOLD_CONTROLLER_H_

#include <optional>
#include <string>
#include <string_view>

#include "profile/controller_setup.h"
#include "profile/fault.h"
#include "profile/protection.h"

namespace drycrank::profile {

// What `at` of such a fault names besides trigger channels and protections.
inline constexpr const char* kDecoderPlace = "decoder";

// Changes what it says. What it does not know (a channel, a wheel) is left as it is.
void Tell(const Fault& fault, Controller& controller);
// What is told of another one changes nothing here.
void Tell(const Fault& fault, Protection& protection);
// Is it a setting of a protection?
bool IsOfProtection(std::string_view setting);
// "offset_deg": the key that it sets; empty: it is no fault of that kind, or sets none.
std::string_view SettingOf(const Fault& fault);
std::string_view SettingOf(const fault::Told& told);

// Nothing: it is not written so, or no tooth or no gap would be left.
std::optional<Wheel> WheelInShort(std::string_view text);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_TOLD_CONTROLLER_H_
