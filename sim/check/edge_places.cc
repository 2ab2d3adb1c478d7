// SPDX-License-Identifier: Apache-2.0
#include "check/edge_places.h"

#include <algorithm>
#include <cmath>
#include <variant>

#include "profile/conductors.h"
#include "profile/device_leads.h"
#include "profile/turning_wheel.h"
#include "trigger/wheel_edges.h"
#include "types/angle.h"

namespace drycrank::check {
namespace {

// The level that a tooth's begin makes.
bool HighAtBegin(const profile::Pickup& pickup, bool leads_reversed) {
  if (const auto* hall = std::get_if<profile::HallPickup>(&pickup)) return !hall->low_at_tooth;
  return leads_reversed;
}

}  // namespace

double WheelCycleDeg(const profile::Trigger& trigger, const profile::Engine& engine) {
  const double cycle_deg = engine.cycle_deg();
  return std::max(cycle_deg, profile::ShaftTurnDeg(trigger.shaft, cycle_deg));
}

std::vector<BuiltEdge> BuiltEdges(const profile::Trigger& trigger, const profile::Engine& engine,
                                  bool leads_reversed) {
  const TurningWheel wheel = profile::TurningWheelOf(trigger, engine);
  const bool high_at_begin = HighAtBegin(trigger.pickup, leads_reversed);
  const double cycle_deg = WheelCycleDeg(trigger, engine);
  const int turns = static_cast<int>(std::lround(cycle_deg / wheel.turn_deg));
  std::vector<BuiltEdge> edges;
  for (const trigger::WheelEdge& at : trigger::WheelEdges(wheel)) {
    const double lobe_end_deg = wheel.is_coil ? at.lobe_deg - at.lead_deg : 0;
    for (int turn = 0; turn < turns; ++turn) {
      edges.push_back(
          {.deg = WrapDeg(at.crank_deg + lobe_end_deg + turn * wheel.turn_deg, cycle_deg),
           .high = at.metal == high_at_begin,
           .begin = at.metal,
           .tooth = at.tooth});
    }
  }
  std::ranges::sort(edges, {}, &BuiltEdge::deg);
  return edges;
}

int TriggerAt(const profile::Bench& bench, const profile::TriggerChannel& input) {
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    const profile::DeviceLeads leads = profile::LeadsOf(bench.triggers[i].pickup);
    const bool coil = leads.gives == profile::Gives::kCoil;
    if (profile::AreJoined(bench, leads.signal, input.terminal) ||
        (coil && profile::AreJoined(bench, leads.ground, input.terminal))) {
      return static_cast<int>(i);
    }
  }
  return -1;
}

bool LeadsReversed(const profile::Bench& bench, const profile::Trigger& trigger,
                   const profile::TriggerChannel& input) {
  const profile::DeviceLeads leads = profile::LeadsOf(trigger.pickup);
  return leads.gives == profile::Gives::kCoil &&
         !profile::AreJoined(bench, leads.signal, input.terminal) &&
         profile::AreJoined(bench, leads.ground, input.terminal);
}

}  // namespace drycrank::check
