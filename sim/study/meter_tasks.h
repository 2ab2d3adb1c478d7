// SPDX-License-Identifier: Apache-2.0
//
// What of a walk is left to a bench meter, as readings in ohm between two places, and what each must show:
//
//   termination_vehicle   ohms across the pair, all plugs on: 100/120 to 130/120 of what the bench as drawn gives,
//                         since a termination may have 100 to 130 ohm (ISO 11898-2, from memory)
//   a circuit             ohms from each of its terminals to the first, both plugs pulled: no more than 1 ohm above
//                         what the bench as drawn gives (common practice, no source; the leads have part of it)
//
// Where a circuit ends at a splice, which nobody gets to, the next terminal behind it is taken: by circuits that are
// proven where there are any, so that what is open is its own. A circuit is given only where each of its wires, open, would show in one of its readings.
#ifndef DRYCRANK_STUDY_METER_TASKS_H_
#define DRYCRANK_STUDY_METER_TASKS_H_

#include <optional>
#include <string>
#include <vector>

#include "check/coverage.h"
#include "profile/answers.h"
#include "profile/bench.h"
#include "walk/outputs.h"

namespace drycrank::study {

struct MeterLeg {
  std::string plus, minus;           // terminals, or a splice
  std::vector<std::string> pulled;   // plugs that are off
  double drawn_ohm = 0;              // of the bench as drawn
  double least_ohm = 0, most_ohm = 0;  // that count as whole
};

struct MeterTask {
  std::string about;  // what an answer calls it
  std::string title;
  std::vector<std::string> circuits;
  std::vector<MeterLeg> legs;
};

bool IsWhole(const MeterLeg& leg, double ohm);

// Nothing: it is none that a meter answers.
std::optional<MeterTask> PairTask(const profile::Bench& bench, const walk::WalkQuestion& question);
// Of circuits that are not shown, and a meter may show them: they are carried by another way, not driven, or noticed
// by nothing. Not of those of which no such reading would tell that they are open.
std::vector<MeterTask> RingOuts(const profile::Bench& bench, const std::vector<check::CircuitCoverage>& coverage);

// "0.21 Ω from CLT.1 to ECU.20, read from invented,meter,7,1.0, 2026-12-01 04:10 UTC"
std::string InWords(const profile::MeterReading& reading);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_METER_TASKS_H_
