// SPDX-License-Identifier: Apache-2.0
#include "profile/state_names.h"
#include "standin/controller.h"

namespace drycrank::standin {

const char* Name(SyncState state) {
  return profile::StateNamesOf("sync_state").at(static_cast<int>(state)).c_str();
}

const char* Name(SyncReason reason) {
  return profile::StateNamesOf("sync_reason").at(static_cast<int>(reason)).c_str();
}

}  // namespace drycrank::standin
