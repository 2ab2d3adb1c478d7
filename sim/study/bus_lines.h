// SPDX-License-Identifier: Apache-2.0
//
// Buses and messages after a run, for the report and the record.
#ifndef DRYCRANK_STUDY_BUS_LINES_H_
#define DRYCRANK_STUDY_BUS_LINES_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "report/report.h"
#include "run/runner.h"
#include "study/run_facts.h"

namespace drycrank::study {

std::vector<report::BusLine> BusLines(const profile::Bench& bench, const run::RunOptions& options,
                                      const run::Runner& runner, const RunFacts& facts);
// Messages that the run itself sent, the most urgent of each bus first.
std::vector<report::MessageLine> MessageLines(const profile::Bench& bench,
                                              const run::Runner& runner);

// Notes on them for a reader: frames left out or overtaken. Those that lost most by name, the
// others in one sentence.
std::vector<std::string> MessageNotes(const std::vector<report::MessageLine>& lines);

// messages.csv in the record's folder; times in microseconds, empty where not known. Empty, or what
// failed.
[[nodiscard]] std::string WriteMessageLines(const std::string& folder,
                                            const std::vector<report::MessageLine>& lines);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_BUS_LINES_H_
