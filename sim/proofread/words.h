// SPDX-License-Identifier: Apache-2.0
//
// Words that settings and disagreements share.
#ifndef DRYCRANK_PROOFREAD_WORDS_H_
#define DRYCRANK_PROOFREAD_WORDS_H_

#include "profile/bench.h"

namespace drycrank::proofread {

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
  return shaft == profile::Shaft::kCam ? "cam" : "crank";
}

// What others send, the display reads.
inline bool IsForDisplay(const profile::Message& message) {
  return message.sender != profile::Sender::kDisplay;
}

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_WORDS_H_
