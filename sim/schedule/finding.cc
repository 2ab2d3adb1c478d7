// SPDX-License-Identifier: Apache-2.0
#include "schedule/finding.h"

#include "types/nth.h"

namespace drycrank::schedule {
namespace {

using enum FindingKind;

constexpr bool kError = true, kNote = false;
constexpr KindOfFinding kKinds[] = {
    {kNotReadable, "not_readable", kError},
    {kNoLength, "no_length", kNote},
    {kNoGauge, "no_gauge", kNote},
    {kTerminalUsedTwice, "terminal_used_twice", kError},
    {kWireWrittenTwice, "wire_written_twice", kError},
    {kEndsWhereItBegins, "ends_where_it_begins", kError},
    {kNameWrittenTwoWays, "name_written_two_ways", kError},
    {kUnknownConnector, "unknown_connector", kError},
    {kUnknownPin, "unknown_pin", kError},
    {kUnknownSplice, "unknown_splice", kError},
    {kSpliceWithOneWire, "splice_with_one_wire", kError},
    {kSpliceWithoutWire, "splice_without_wire", kNote},
    {kCircuitInPieces, "circuit_in_pieces", kNote},
    {kColourTwice, "colour_twice", kNote},
    {kTwistOfOne, "twist_of_one", kError},
    {kTwistEndsDiffer, "twist_ends_differ", kError},
    {kTwistLengthsDiffer, "twist_lengths_differ", kError},
    {kPairNotTwisted, "pair_not_twisted", kNote},
    {kBusTerminations, "bus_terminations", kError},
    {kBusPairOpen, "bus_pair_open", kError},
    {kBusPairSwapped, "bus_pair_swapped", kError},
    {kBusPairShort, "bus_pair_short", kError},
    {kBusPairNotTwisted, "bus_pair_not_twisted", kError},
    {kTerminalWithoutWire, "terminal_without_wire", kError},
    {kNoGround, "no_ground", kError},
    {kNoSupply, "no_supply", kError},
    {kNoSignal, "no_signal", kError},
    {kSupplyAndGroundSwapped, "supply_and_ground_swapped", kError},
    {kLeadsSwapped, "leads_swapped", kError},
    {kSignalsSwapped, "signals_swapped", kError},
    {kWrongInput, "wrong_input", kError},
    {kSignalOnSupply, "signal_on_supply", kError},
    {kSignalOnGround, "signal_on_ground", kError},
    {kTwoOutputsTogether, "two_outputs_together", kError},
    {kSupplyFedTwice, "supply_fed_twice", kError},
    {kSupplyOnGround, "supply_on_ground", kError},
    {kSupplyTooLow, "supply_too_low", kError},
    {kSupplyTooHigh, "supply_too_high", kError},
    {kWireTooThin, "wire_too_thin", kError},
    {kGroundMovesReading, "ground_moves_reading", kError},
    {kLoadOnSensorGround, "load_on_sensor_ground", kNote},
    {kFuseOverloaded, "fuse_overloaded", kError},
    {kFuseNearRating, "fuse_near_rating", kNote},
    {kFuseMayBlow, "fuse_may_blow", kNote},
    {kWireBelowFuse, "wire_below_fuse", kNote},
    {kShortDoesNotBlow, "short_does_not_blow", kError},
    {kShortBlowsLate, "short_blows_late", kNote},
    {kNotProvable, "not_provable", kNote},
};

// The table has each kind once, in the order of the enum.
constexpr bool InOrder() {
  for (std::size_t i = 0; i < std::size(kKinds); ++i) {
    if (kKinds[i].kind != static_cast<FindingKind>(i)) return false;
  }
  return true;
}
static_assert(InOrder() && static_cast<std::size_t>(kNotProvable) + 1 == std::size(kKinds));

}  // namespace

std::span<const KindOfFinding> FindingKinds() { return kKinds; }

const KindOfFinding& DescribeKind(FindingKind kind) { return Nth(kKinds, kind); }

}  // namespace drycrank::schedule
