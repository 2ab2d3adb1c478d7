// SPDX-License-Identifier: Apache-2.0
#include "walk/degrees.h"

#include <fmt/format.h>

#include <optional>

#include "profile/device_leads.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::walk {
namespace {

using profile::Bench;
using profile::Expectation;
namespace expect = profile::expect;

// A strobe lamp on the damper is read to a degree or two (common practice, no source); a cam is
// judged as its angle on the bus is.
constexpr double kToleranceDeg = 2;

// Do the edges come at places that do not depend on speed?
bool HasPlaces(const profile::Trigger& trigger, const profile::TriggerChannel& input) {
  const bool coil = profile::GivenBy(trigger.pickup) == profile::Gives::kCoil;
  return coil == (input.conditioning == profile::Conditioning::kZeroCrossing);
}

std::optional<Expectation> CamExpectation(const Bench& bench, int input) {
  const profile::TriggerChannel& channel = Nth(bench.controller->triggers, input);
  const int trigger = profile::IndexOf(bench.triggers, channel.name);
  if (trigger < 0 || !HasPlaces(Nth(bench.triggers, trigger), channel)) return std::nullopt;
  Expectation e;
  e.name = "edges_" + channel.name;
  e.kind = expect::CamEdges{
      .trigger = trigger, .input = input, .cam = channel.name, .tolerance_deg = kToleranceDeg};
  e.means = fmt::format(
      "The wheel of {} does not give the edges it should, or not where it should. Look at the "
      "wheel, "
      "how it is mounted, and the way round of its sensor.",
      channel.name);
  return e;
}

// Sparks, or where there are none injections; nothing where what is known of the position is never
// enough to fire.
std::optional<Expectation> OutputExpectation(const Bench& bench) {
  const profile::Decoder& decoder = bench.controller->decoder;
  const bool known = decoder.strokes == 2 || profile::PhaseCam(*bench.controller) >= 0 ||
                     decoder.firing == profile::Firing::kPaired;
  if (decoder.firing_order.empty() || !known) return std::nullopt;
  Expectation e;
  e.means =
      "The engine is fired at the wrong degree of the crank. Look at how the crank and cam wheels "
      "are "
      "mounted, the way round of their sensors, and what the controller was told of both.";
  if (decoder.dwell_ms > 0) {
    e.name = "fires_at";
    expect::FiresAt fires;
    fires.advance_at_rpm = {{0, bench.engine.advance_deg.value_or(decoder.advance_deg)}};
    fires.tolerance_deg = kToleranceDeg;
    e.kind = fires;
    return e;
  }
  if (decoder.injection_ms <= 0) return std::nullopt;
  e.name = "injects_at";
  expect::InjectsAt injects;
  injects.before_deg = decoder.injection_end_deg;
  injects.tolerance_deg = kToleranceDeg;
  e.kind = injects;
  return e;
}

// The same of the second plugs, where the controller fires them or the engine has them.
std::optional<Expectation> TrailingExpectation(const Bench& bench, const Expectation& leading) {
  const auto* fires = std::get_if<expect::FiresAt>(&leading.kind);
  const auto& told_deg = bench.controller->decoder.trailing_deg;
  const std::optional<double> behind_deg =
      bench.engine.trailing_deg ? bench.engine.trailing_deg : told_deg;
  if (fires == nullptr || !behind_deg) return std::nullopt;
  expect::FiresAt trailing = *fires;
  trailing.plug = expect::Plug::kTrailing;
  trailing.advance_at_rpm.front().second -= *behind_deg;
  Expectation e;
  e.name = "fires_at_trailing";
  e.kind = trailing;
  e.means =
      "The second plugs are fired at the wrong degree of the crank, or not at all. Look at what "
      "the "
      "controller was told of them; where the first plugs are wrong too, look there first.";
  return e;
}

}  // namespace

std::vector<Expectation> DegreeExpectations(const Bench& bench) {
  std::vector<Expectation> all;
  for (const int cam : bench.controller->decoder.cams) {
    if (auto e = CamExpectation(bench, cam)) all.push_back(std::move(*e));
  }
  const auto leading = OutputExpectation(bench);
  if (!leading) return all;
  all.push_back(*leading);
  if (auto e = TrailingExpectation(bench, *leading)) all.push_back(std::move(*e));
  return all;
}

}  // namespace drycrank::walk
