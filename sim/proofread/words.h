// SPDX-License-Identifier: Apache-2.0
//
// Words that settings and disagreements share.
#ifndef DRYCRANK_PROOFREAD_WORDS_H_
#define DRYCRANK_PROOFREAD_WORDS_H_

#include <fmt/format.h>

#include <string>

#include "profile/bench.h"
#include "types/unit.h"

namespace drycrank::proofread {

// "118 °C"
inline std::string Value(double value, const std::string& unit) {
  return WithUnit(fmt::format("{:.4g}", value), unit);
}

inline const char* Word(profile::ActiveEdge edge) {
  return edge == profile::ActiveEdge::kFalling ? "falling" : "rising";
}

inline const char* Word(profile::ToothPoint point) {
  switch (point) {
    case profile::ToothPoint::kBegin:
      return "begin";
    case profile::ToothPoint::kCentre:
      return "centre";
    case profile::ToothPoint::kEnd:
      return "end";
  }
  return "";
}

inline const char* Word(profile::Shaft shaft) {
  switch (shaft) {
    case profile::Shaft::kCrank:
      return "crank";
    case profile::Shaft::kCam:
      return "cam";
    case profile::Shaft::kRotor:
      return "rotor";
  }
  return "";
}

// What others send, the display reads.
inline bool IsForDisplay(const profile::Message& message) {
  return message.sender != profile::Sender::kDisplay;
}

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_WORDS_H_
