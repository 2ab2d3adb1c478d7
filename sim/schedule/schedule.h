// SPDX-License-Identifier: Apache-2.0
//
// A wiring schedule: the list of wires a harness is made from, as its author wrote it, right or
// wrong. Each piece keeps its place, so that what is found on paper names the cell. A bench's
// harness (profile/bench.h) is a schedule without mistakes; both ways are here.
#ifndef DRYCRANK_SCHEDULE_SCHEDULE_H_
#define DRYCRANK_SCHEDULE_SCHEDULE_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::schedule {

// What one cell says, and where. Empty text: it says nothing; the place is then the line's.
struct Cell {
  std::string text;
  Place place;
};

struct ScheduleWire {
  Cell circuit;
  Cell from, to;  // terminal "CLT.1" or splice "S_GND"
  Cell gauge;     // "0.5 mm2", "20 AWG"
  Cell length;
  std::optional<double> length_m;
  Cell colour;
  Cell twist;  // wires twisted together share this name
  Cell fuse;   // behind which it lies, as written
  std::string notes;
  Place place;
  double fuse_a = 0;  // of a fuse, its rating; it has neither gauge nor length
  double fuse_mohm = 0;
  bool fitted = true;  // false: on paper only

  bool IsFuse() const { return fuse_a > 0; }
};

struct Schedule {
  std::string file;
  std::vector<profile::Connector> connectors;
  std::vector<std::string> splices;
  std::vector<ScheduleWire> wires;
  std::vector<profile::Relay> relays = {};
  std::vector<profile::Diode> diodes = {};
  std::vector<std::string> unread_ends;  // of lines that are no wire, but named this end
};

Schedule ScheduleOf(const profile::Bench& bench);

// The bench with the schedule's wires and splices in place of its own; connectors
// and relays that the bench does not have are added, pins are not. Wires that no network can have (an end that is unknown,
// both ends the same) are left out; a gauge or length that is not given is the loader's default.
profile::Bench BenchWith(const profile::Bench& bench, const Schedule& schedule);

// The bench's fuses, where the schedule has none of that name.
void AddFusesOf(const profile::Bench& bench, Schedule& schedule);

// "CLT" of "CLT.1"; empty for a splice.
std::string_view ConnectorOf(std::string_view end);
std::string_view PinOf(std::string_view end);
inline bool IsTerminal(std::string_view end) { return end.find('.') != std::string_view::npos; }

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_SCHEDULE_H_
