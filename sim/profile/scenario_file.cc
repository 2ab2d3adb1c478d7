// SPDX-License-Identifier: Apache-2.0
#include "profile/scenario_file.h"

namespace drycrank::profile {

const char* Name(ExpectationKind kind) {
  switch (kind) {
    case ExpectationKind::kFollows:
      return "follows";
    case ExpectationKind::kAlways:
      return "always";
    case ExpectationKind::kNever:
      return "never";
    case ExpectationKind::kWithin:
      return "within";
    case ExpectationKind::kForAtLeast:
      return "for_at_least";
    case ExpectationKind::kMessagePresent:
      return "message_present";
    case ExpectationKind::kCounter:
      return "counter";
    case ExpectationKind::kChecksum:
      return "checksum";
    case ExpectationKind::kDisplayShows:
      return "display_shows";
    case ExpectationKind::kSynchronised:
      return "synchronised";
    case ExpectationKind::kOnlyKnownMessages:
      return "only_known_messages";
    case ExpectationKind::kNoErrorFrames:
      return "no_error_frames";
    case ExpectationKind::kControllerReads:
      return "controller_reads";
    case ExpectationKind::kTroubleCode:
      return "trouble_code";
    case ExpectationKind::kNoTroubleCodes:
      return "no_trouble_codes";
    case ExpectationKind::kWitnessed:
      return "witnessed";
  }
  return "";
}

}  // namespace drycrank::profile
