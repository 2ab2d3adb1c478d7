// SPDX-License-Identifier: Apache-2.0
//
// Profile files to checked structures. Never throws for what a file says: every problem found is a
// Diagnostic with place and remedy, all of them at once, and a value is returned only when there is
// none. Includes are found relative to the file that names them. Limits: 1 MiB per file, 200,000
// nodes and 32 levels after expansion of aliases and includes, 64 files.
#ifndef DRYCRANK_PROFILE_LOAD_H_
#define DRYCRANK_PROFILE_LOAD_H_

#include <optional>
#include <string>

#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

struct [[nodiscard]] LoadedBench {
  std::optional<Bench> bench;
  Diagnostics problems;
  std::vector<std::string> files;  // every file read, for the record
};
LoadedBench LoadBench(const std::string& path);
// For who judges the wires themselves (schedule/check.h): a wire may have an end that is unknown, a
// terminal that another wire has, or a gauge that no table knows, and is handed on as written. Such
// a bench is not fit to be run.
LoadedBench LoadBenchAsDrawn(const std::string& path);

// The buses of a bench, or the one of a part file as profiles/parts/buses/ has them (a mapping with
// `messages` and no `kind`), named after the file. Layouts alone: what a part's signals carry is
// known on its bench only.
struct [[nodiscard]] LoadedBuses {
  std::vector<Bus> buses;
  Diagnostics problems;
};
LoadedBuses LoadBusesOf(const std::string& path);

struct [[nodiscard]] LoadedScenario {
  std::optional<Scenario> scenario;
  std::optional<Bench> bench;
  Diagnostics problems;
  std::vector<std::string> files;
};
LoadedScenario LoadScenario(const std::string& path);

// "bench", "scenario", or empty when the file has no readable `kind`.
std::string KindOfFile(const std::string& path);

// For values given while a bench runs ("coolant_temperature", "90 degC"): the number in the
// stimulus' unit, or why not.
struct [[nodiscard]] ParsedValue {
  std::optional<double> value;
  std::string problem;
};
ParsedValue ParseStimulusValue(const Stimulus& stimulus, const std::string& text);

// For faults given while a bench runs: one YAML flow mapping, "{kind: open, at: CLT.1}".
struct [[nodiscard]] ParsedFault {
  std::optional<Fault> fault;
  Diagnostics problems;
};
ParsedFault ParseFault(const Bench& bench, const std::string& yaml);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_LOAD_H_
