// SPDX-License-Identifier: Apache-2.0
//
// What is wrong with a schedule on paper: a kind with a fixed word, the place, what is wrong and
// what would be right. An error will not work, or cannot be made; a note works, and deserves a
// look.
#ifndef DRYCRANK_SCHEDULE_FINDING_H_
#define DRYCRANK_SCHEDULE_FINDING_H_

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::schedule {

enum class FindingKind {
  // the list itself
  kNotReadable,
  kNoLength,
  kNoGauge,
  kTerminalUsedTwice,
  kWireWrittenTwice,
  kEndsWhereItBegins,
  kNameWrittenTwoWays,
  kUnknownConnector,
  kUnknownPin,
  kUnknownSplice,
  kSpliceWithOneWire,
  kSpliceWithoutWire,
  kCircuitInPieces,
  kColourTwice,
  // pairs
  kTwistOfOne,
  kTwistEndsDiffer,
  kTwistLengthsDiffer,
  kPairNotTwisted,
  kBusTerminations,
  kBusPairOpen,
  kBusPairSwapped,
  kBusPairShort,
  kBusPairNotTwisted,
  // what the devices need
  kTerminalWithoutWire,
  kNoGround,
  kNoSupply,
  kNoSignal,
  kSupplyAndGroundSwapped,
  kLeadsSwapped,
  kSignalsSwapped,
  kWrongInput,
  kSignalOnSupply,
  kSignalOnGround,
  kTwoOutputsTogether,
  kSupplyFedTwice,
  kSupplyOnGround,
  kSupplyTooLow,
  kSupplyTooHigh,
  // currents
  kWireTooThin,
  kGroundMovesReading,
  kLoadOnSensorGround,
  // fuses
  kFuseOverloaded,
  kFuseNearRating,
  kFuseMayBlow,
  kWireBelowFuse,
  kShortDoesNotBlow,
  kShortBlowsLate,
  // proof
  kNotProvable,
};

struct KindOfFinding {
  FindingKind kind;
  std::string_view word;  // "terminal_used_twice": fixed, for machines
  bool is_error;
};
std::span<const KindOfFinding> FindingKinds();
const KindOfFinding& DescribeKind(FindingKind kind);

struct Finding {
  FindingKind kind = FindingKind::kNotReadable;
  Place place;
  std::string what, remedy;
  std::vector<std::string> circuits;
  std::vector<std::string> ends;  // terminals and splices that it is about

  bool is_error() const { return DescribeKind(kind).is_error; }
};

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_FINDING_H_
