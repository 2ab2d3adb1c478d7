// SPDX-License-Identifier: Apache-2.0
#include "standin/controller.h"

namespace drycrank::standin {

const char* Name(SyncState state) {
  switch (state) {
    case SyncState::kStopped:
      return "stopped";
    case SyncState::kSearching:
      return "searching";
    case SyncState::kPositionKnown:
      return "position known";
    case SyncState::kSynchronised:
      return "synchronised";
  }
  return "?";
}

const char* Name(SyncReason reason) {
  switch (reason) {
    case SyncReason::kNone:
      return "none";
    case SyncReason::kNoTeeth:
      return "no teeth";
    case SyncReason::kGapNotFound:
      return "gap not found";
    case SyncReason::kToothEarly:
      return "tooth early";
    case SyncReason::kToothLate:
      return "tooth late";
    case SyncReason::kCamMissing:
      return "cam missing";
    case SyncReason::kCamUnexpected:
      return "cam unexpected";
    case SyncReason::kCamAmbiguous:
      return "cam ambiguous";
    case SyncReason::kNoSupply:
      return "no supply";
  }
  return "?";
}

}  // namespace drycrank::standin
