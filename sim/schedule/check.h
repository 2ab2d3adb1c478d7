// SPDX-License-Identifier: Apache-2.0
//
// What is wrong with a schedule before anything is crimped. From the list alone: terminals used
// twice, splices with one wire, pairs that are none. With a bench, whose devices the wires are for:
// what has no supply, ground or way to an input, what is fed twice or shorted, a wire too thin for
// its current and length, a shared ground that moves a reading, a bus without its two resistors, a
// circuit that nothing can prove, a fuse that its loads, its wires or a short do not suit.
//
// One mistake is one finding. What only follows from it (the splice whose name was misspelt leaves
// nine sensors without ground) is counted, not said.
#ifndef DRYCRANK_SCHEDULE_CHECK_H_
#define DRYCRANK_SCHEDULE_CHECK_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "schedule/finding.h"
#include "schedule/schedule.h"

namespace drycrank::schedule {

// All but the termination (ISO 11898-2) are common practice without a source; the user sets his
// own.
struct Limits {
  double drop_percent = 3;          // of the supply's voltage, from supply to load and back
  double tolerance_percent = 1;     // of a stimulus' range, for sensors without `tolerance`
  double twist_length_percent = 5;  // by which two twisted wires may differ
  double load_a = 0.5;              // from here on, a load has no business on a sensors' ground
  double termination_ohm = 120;     // each of two, within a tenth
};

struct CheckInput {
  const Schedule* schedule = nullptr;
  const profile::Bench* bench = nullptr;        // whose devices are wired; null: the list alone
  const profile::Scenario* scenario = nullptr;  // by which circuits are to be proven; null: a walk
  Diagnostics unreadable;                       // lines and cells that the import could not read
  Limits limits;
};

struct CheckResult {
  std::vector<Finding> findings;  // by place
  int consequences = 0;           // of them, and not among them
};
CheckResult CheckSchedule(const CheckInput& input);

// "file:line:column: error: what; remedy  [kind]" per line, and a last line that counts.
std::string FindingsText(const CheckResult& result);
// {"file", "errors", "notes", "consequences", "findings": [{"kind", "severity", "file", "line",
// "column", "what", "remedy", "circuits", "ends"}]}
std::string FindingsJson(const std::string& file, const CheckResult& result);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_CHECK_H_
