// SPDX-License-Identifier: Apache-2.0
#include "tests/diagnose/shipped_world.h"

#include <algorithm>
#include <cmath>
#include <ctime>
#include <limits>
#include <set>
#include <variant>

namespace drycrank::diagnose {
namespace {

constexpr double kNominalContactOhm = 0.005;

// The bench as it stands on the table: what its contacts are off is put into their wires.
profile::Bench Built(const profile::Bench& drawn, const support::Departure& tolerances) {
  profile::Bench built = drawn;
  built.supplies[0].voltage_v += tolerances.supply_more_v;
  for (std::size_t w = 0; w < built.wires.size(); ++w) {
    profile::Wire& wire = built.wires[w];
    double ohm = wire.Ohm() * tolerances.wire_factor.at(static_cast<int>(w));
    for (const std::string& end : {wire.from, wire.to}) {
      const auto contact = tolerances.contact_ohm.find(end);
      if (contact != tolerances.contact_ohm.end()) ohm += contact->second - kNominalContactOhm;
    }
    wire.mohm_per_m = std::max(ohm, 1e-4) * 1e3 / wire.length_m;
  }
  return built;
}

profile::Fault Make(const profile::FaultKind& kind, const std::string& at,
                    const std::string& with = "") {
  profile::Fault fault;
  fault.kind = kind;
  fault.name = at;
  fault.at = at;
  fault.with = with;
  return fault;
}

}  // namespace

ShippedWorld::ShippedWorld(const std::string& bench)
    : walked_(bench),
      predictor_(walked_.bench(), walked_.situations()),
      ranker_(walked_.bench(), predictor_),
      healthy_(Clean({})) {}

Observation ShippedWorld::Observe(const profile::Fault& fault, std::uint64_t seed) {
  Random random(seed, 1);
  const support::Departure tolerances = DrawTolerances(bench(), random);
  std::vector<profile::Fault> faults = {fault};
  for (const auto& [sensor, own] : tolerances.sensors) {
    faults.push_back(Make(profile::fault::SensorOffset{own.offset}, sensor));
    faults.back().name = "error of " + sensor;
  }
  return walked_.ObserveOn(Built(bench(), tolerances), faults, seed);
}

CleanRows ShippedWorld::Clean(const std::vector<profile::Fault>& faults) {
  constexpr double kRaisedV = 0.25;
  profile::Bench higher = bench();
  higher.supplies[0].voltage_v += kRaisedV;
  CleanRows rows{walked_.ObserveOn(bench(), faults, 0), {}, walked_.ObserveOn(higher, faults, 0)};
  for (std::size_t s = 0; s < rows.value.size(); ++s) {
    Values& noise = rows.noise.emplace_back();
    for (std::size_t r = 0; r < rows.value[s].size(); ++r) {
      const Reading& reading = predictor_.readings()[r];
      const bool compared = !reading.turning || walked_.situations()[s].engine_rpm() > 0;
      noise.push_back(compared ? reading.sigma / std::sqrt(3.0)
                               : std::numeric_limits<double>::infinity());
      const double moved = rows.per_volt[s][r] - rows.value[s][r];
      rows.per_volt[s][r] = reading.discrete || std::isnan(moved) ? 0 : moved / kRaisedV;
    }
  }
  return rows;
}

OutsideRun ShippedWorld::RunSeries(const std::string& pin, double ohm, std::uint64_t seed) {
  const profile::Fault fault = Make(profile::fault::SeriesResistance{ohm}, pin);
  const Truth truth{TruthGroup::kCorrodedPin, {CorrodedPin(pin, ohm)}};
  const CleanRows clean = Clean({fault});
  const Measure measure{bench(), predictor_.readings(), healthy_, clean, predictor_};
  OutsideRun run{seed,
                 truth.group,
                 truth.kind(),
                 bench().name + ": " + truth.words(),
                 !measure.moves_nothing(),
                 {},
                 0};
  const Observation observed = Observe(fault, seed);
  const std::clock_t begin = std::clock();
  const Diagnosis diagnosis = ranker_.Rank(observed);
  run.processor_s = static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
  run.answered = Judged(measure, truth, diagnosis);
  return run;
}

Truth ShippedWorld::CrankLeads() const {
  const profile::Trigger& crank = bench().triggers[0];
  const auto& coil = std::get<profile::VariableReluctancePickup>(crank.pickup);
  return {TruthGroup::kSingle,
          {{"crank leads swapped",
            bench().name + ": crank leads swapped",
            {{coil.plus}, {coil.minus}},
            {"terminals_swapped"},
            {}}}};
}

OutsideRun ShippedWorld::RunCrankLeads(std::uint64_t seed) {
  const Truth truth = CrankLeads();
  const std::string &plus = *truth.deviations[0].places[0].begin(),
                    &minus = *truth.deviations[0].places[1].begin();
  const Diagnosis diagnosis =
      ranker_.Rank(Observe(Make(profile::fault::TerminalsSwapped{}, plus, minus), seed));
  OutsideRun run{
      seed, truth.group, truth.kind(), truth.words(), true, WhatIsSaid(bench(), diagnosis), 0};
  if (diagnosis.groups.empty()) return run;
  const auto& members = diagnosis.groups[0].members;
  run.answered.words = Describe(bench(), members[0].hypothesis);
  const auto at_plug = [&](const Candidate& member) {
    return std::ranges::all_of(member.hypothesis.faults, [&](const profile::Fault& fault) {
      const std::set<std::string> plug = {plus, minus, bench().triggers[0].name};
      return plug.contains(fault.at) && (fault.with.empty() || plug.contains(fault.with));
    });
  };
  run.answered.right = NamesAll(members[0], truth) || std::ranges::all_of(members, at_plug);
  return run;
}

}  // namespace drycrank::diagnose
