// SPDX-License-Identifier: Apache-2.0
#include "profile/played_recording.h"

#include <algorithm>

namespace drycrank::profile {

bool Plays(const Replay& replay, FrameId id, std::optional<Sender> sender) {
  const auto contains = [](const auto& list, const auto& entry) {
    return std::find(list.begin(), list.end(), entry) != list.end();
  };
  if (sender && !contains(replay.instead_of, *sender)) return false;
  if (!replay.only.empty() && !contains(replay.only, id)) return false;
  return !contains(replay.without, id);
}

}  // namespace drycrank::profile
