// SPDX-License-Identifier: Apache-2.0
#include "proofread/built_edges.h"

#include <algorithm>
#include <cmath>
#include <variant>

#include "plant/sources.h"
#include "profile/devices.h"
#include "trigger/wheel_edges.h"
#include "types/angle.h"

namespace drycrank::proofread {
namespace {

using profile::ActiveEdge;
using profile::ToothPoint;

// Does the edge come of a tooth's begin?
bool ComesOfBegin(const profile::Pickup& pickup, ActiveEdge edge, bool leads_reversed) {
  const bool falling = edge == ActiveEdge::kFalling;
  if (const auto* hall = std::get_if<profile::HallPickup>(&pickup)) {
    return falling == hall->low_at_tooth;
  }
  return falling != leads_reversed;
}

}  // namespace

std::vector<double> BuiltEdgesDeg(const profile::Trigger& trigger, const profile::Engine& engine,
                                  ActiveEdge edge, bool leads_reversed) {
  const TurningWheel wheel = plant::WheelOf(trigger, engine);
  const bool of_begin = ComesOfBegin(trigger.pickup, edge, leads_reversed);
  const int turns = static_cast<int>(std::lround(engine.cycle_deg() / wheel.turn_deg));
  std::vector<double> edges_deg;
  for (const trigger::WheelEdge& at : trigger::WheelEdges(wheel)) {
    if (at.metal != of_begin) continue;
    const double lobe_end_deg = wheel.is_coil ? at.lobe_deg / 2 : 0;
    for (int turn = 0; turn < turns; ++turn) {
      edges_deg.push_back(
          WrapDeg(at.crank_deg + lobe_end_deg + turn * wheel.turn_deg, engine.cycle_deg()));
    }
  }
  std::sort(edges_deg.begin(), edges_deg.end());
  return edges_deg;
}

bool SameEdges(const std::vector<double>& a_deg, const std::vector<double>& b_deg,
               double cycle_deg) {
  if (a_deg.size() != b_deg.size()) return false;
  return std::all_of(a_deg.begin(), a_deg.end(), [&](double a) {
    return std::any_of(b_deg.begin(), b_deg.end(), [&](double b) {
      return std::abs(WrapSignedDeg(a - b, cycle_deg)) <= kSameEdgeDeg;
    });
  });
}

profile::TriggerChannel ShouldBeTold(const profile::Trigger& trigger, bool leads_reversed) {
  profile::TriggerChannel channel;
  channel.name = trigger.name;
  channel.shaft = trigger.shaft;
  channel.wheel = trigger.wheel;
  channel.offset_deg = trigger.offset_deg;
  if (const auto* hall = std::get_if<profile::HallPickup>(&trigger.pickup)) {
    channel.conditioning = profile::Conditioning::kThreshold;
    channel.edge = ActiveEdge::kFalling;
    channel.point = hall->low_at_tooth ? ToothPoint::kBegin : ToothPoint::kEnd;
  } else {
    channel.conditioning = profile::Conditioning::kZeroCrossing;
    channel.edge = leads_reversed ? ActiveEdge::kRising : ActiveEdge::kFalling;
    channel.point = ToothPoint::kCentre;
  }
  return channel;
}

}  // namespace drycrank::proofread
