// SPDX-License-Identifier: Apache-2.0
//
// The parts of a scenario file. Internal to profile/.
#ifndef DRYCRANK_PROFILE_LOAD_SCENARIO_H_
#define DRYCRANK_PROFILE_LOAD_SCENARIO_H_

#include <optional>
#include <string>
#include <vector>

#include "profile/load_bench.h"
#include "profile/scenario_file.h"
#include "yaml/include.h"

namespace drycrank::profile {

class Rows;  // table_reader.h

struct ScenarioContext {
  Problems& problems;
  yaml::Files& files;  // for points from CSV
  const Bench& bench;
  Scenario& scenario;
};

// `root` is the file's mapping; scenario.bench_file is set by the caller.
void LoadScenarioTree(ScenarioContext& c, const Node& root);

void LoadDrives(ScenarioContext& c, const Node* node, Step& step);
void LoadReplay(ScenarioContext& c, const Node& node);
void LoadCapture(ScenarioContext& c, const Node& node);
// What does not go with it: whoever knows where the crank stands. After all else.
void CheckBesideCapture(ScenarioContext& c);
void LoadExpectation(ScenarioContext& c, const Node& node);

// {output: coil, equals: on}, {age_of: crank, above: 2 s}, {crank: turning} (load_line_condition.cc)
bool IsOfLines(const Node& node);
std::optional<Condition> LoadLineCondition(Problems& problems, const Bench& bench,
                                           const Node& node);
// {signal: a.b, equals: 3}, or one of those
std::optional<Condition> LoadCondition(Problems& problems, const Bench& bench, const Node& node);

// `steps` are the names that `during` may use; null where there are none.
Fault LoadFault(Problems& problems, const Bench& bench, const std::vector<std::string>* steps,
                const Node& node);

// The parameters of a fault on a bus, by its kind (load_bus_fault.cc).
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::MessageMissing& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::MessageLate& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::MessageEarly& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::MessageDoubled& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::IdentifierWrong& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::LengthWrong& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::BytesSwapped& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::ValueFrozen& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::CounterStuck& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::CounterJumps& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::ChecksumWrong& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::NodeGone& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::BabblingNode& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::ErrorFrames& kind);
void ReadBusFault(const Bench& bench, Rows& rows, const Ref& at, fault::BusOff& kind);

void ReadToldFault(const Bench& bench, Rows& rows, const Ref& at, fault::Told& kind);

// Names under `during`, each one of a step.
std::vector<std::string> ReadDuring(Reader& r, const std::vector<std::string>& steps);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_LOAD_SCENARIO_H_
