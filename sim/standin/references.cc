// SPDX-License-Identifier: Apache-2.0
#include "standin/references.h"

#include <algorithm>
#include <cmath>

#include "standin/cam.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::standin {
namespace {

using profile::Shaft;
using profile::TriggerChannel;

// Is there a tooth of the crank at which its level contradicts that of the other place?
bool LevelTellsApart(const TriggerChannel& channel, const Pattern& crank, double shift_deg) {
  const Cam cam(channel, crank.cycle_deg());
  for (int place = 0; place < crank.size(); ++place) {
    const auto here = cam.ToothAt(crank.position_deg(place), 0);
    const auto there = cam.ToothAt(crank.position_deg(place) + shift_deg);
    if (here && there && *here != *there) return true;
  }
  return false;
}

bool TellsApart(const TriggerChannel& channel, const Pattern& crank, int place, bool turns_only) {
  const double shift_deg = crank.position_deg(place) - crank.position_deg(0);
  const double cycle_deg = crank.cycle_deg();
  if (channel.by_level) return turns_only && LevelTellsApart(channel, crank, shift_deg);
  const double window_deg =
      turns_only ? channel.window_deg : NarrowWindowDeg(crank, channel.window_deg);
  const auto fits = [&](const std::vector<double>& edges_deg) {
    return EdgesFit(edges_deg, edges_deg, shift_deg, window_deg, cycle_deg);
  };
  return !fits(ActiveEdgesDeg(channel, cycle_deg)) || !fits(OtherEdgesDeg(channel, cycle_deg));
}

std::vector<int> LookingLikeTheFirst(const Pattern& crank) {
  std::vector<int> alike;
  for (int place = 1; place < crank.size(); ++place) {
    if (crank.SamePosition(0, place) || crank.LookAlike(0, place)) alike.push_back(place);
  }
  return alike;
}

std::vector<int> CrankFirst(const profile::Controller& controller) {
  std::vector<int> order(controller.decoder.cams.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<int>(i);
  std::stable_partition(order.begin(), order.end(), [&](int cam) {
    return Nth(controller.triggers, Nth(controller.decoder.cams, cam)).shaft != Shaft::kCam;
  });
  return order;
}

}  // namespace

bool EdgesFit(const std::vector<double>& edges_deg, const std::vector<double>& due_deg,
              double shift_deg, double window_deg, double cycle_deg) {
  return std::ranges::all_of(edges_deg, [&](double edge) {
    return std::ranges::any_of(due_deg, [&](double due) {
      return std::abs(WrapSignedDeg(edge + shift_deg - due, cycle_deg)) <= window_deg;
    });
  });
}

double NarrowWindowDeg(const Pattern& crank, double window_deg) {
  if (crank.Twin() < 0) return window_deg;
  if (!crank.has_gap()) return std::min(window_deg, crank.min_interval_deg() / 2);
  return std::min(window_deg, crank.SpanDeg(crank.Twin(), crank.Twin()) / 2);
}

References FindReferences(const profile::Controller& controller, const Pattern& crank) {
  References found;
  found.alike = LookingLikeTheFirst(crank);
  const auto turns_only = [&] {
    return std::ranges::all_of(found.alike, [&](int b) { return crank.SamePosition(0, b); });
  };
  for (const int cam : CrankFirst(controller)) {
    const TriggerChannel& channel =
        Nth(controller.triggers, Nth(controller.decoder.cams, cam));
    const bool only = turns_only();
    const std::size_t told = std::erase_if(
        found.alike, [&](int place) { return TellsApart(channel, crank, place, only); });
    if (told > 0) found.taken.push_back({cam, only});
  }
  if (!found.taken.empty()) return found;
  for (std::size_t cam = 0; cam < controller.decoder.cams.size(); ++cam) {
    if (Nth(controller.triggers, controller.decoder.cams[cam]).shaft != Shaft::kCam) continue;
    found.taken.push_back({static_cast<int>(cam), turns_only()});
    break;
  }
  return found;
}

}  // namespace drycrank::standin
