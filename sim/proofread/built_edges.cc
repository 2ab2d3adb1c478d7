// SPDX-License-Identifier: Apache-2.0
#include "proofread/built_edges.h"

#include <algorithm>
#include <cmath>
#include <variant>

#include "check/edge_places.h"
#include "profile/triggers.h"
#include "types/angle.h"

namespace drycrank::proofread {
namespace {

using profile::ActiveEdge;
using profile::ToothPoint;

}  // namespace

std::vector<double> BuiltEdgesDeg(const profile::Trigger& trigger, const profile::Engine& engine,
                                  ActiveEdge edge, bool leads_reversed) {
  std::vector<double> edges_deg;
  for (const check::BuiltEdge& at : check::BuiltEdges(trigger, engine, leads_reversed)) {
    if (at.high == (edge == ActiveEdge::kRising)) edges_deg.push_back(at.deg);
  }
  return edges_deg;
}

std::vector<double> OverCycle(std::vector<double> edges_deg, double own_deg, double cycle_deg) {
  const std::size_t once = edges_deg.size();
  for (double deg = own_deg; deg < cycle_deg; deg += own_deg) {
    for (std::size_t i = 0; i < once; ++i) edges_deg.push_back(edges_deg[i] + deg);
  }
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

bool FitsTurned(const std::vector<double>& edges_deg, double shift_deg, double window_deg,
                double cycle_deg) {
  return std::all_of(edges_deg.begin(), edges_deg.end(), [&](double edge) {
    return std::any_of(edges_deg.begin(), edges_deg.end(), [&](double other) {
      return std::abs(WrapSignedDeg(edge + shift_deg - other, cycle_deg)) <= window_deg;
    });
  });
}

}  // namespace drycrank::proofread
