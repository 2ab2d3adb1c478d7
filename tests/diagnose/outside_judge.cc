// SPDX-License-Identifier: Apache-2.0
#include "tests/diagnose/outside_judge.h"

#include <algorithm>
#include <set>
#include <variant>

#include "diagnose/suspects.h"
#include "profile/sensors.h"

namespace drycrank::diagnose {
namespace {

// With the circuits and sensors that end there.
std::set<std::string> Around(const profile::Bench& bench, const std::set<std::string>& places) {
  std::set<std::string> around = places;
  for (const profile::Wire& wire : bench.wires) {
    if (!places.contains(wire.circuit) && !places.contains(wire.from) &&
        !places.contains(wire.to)) {
      continue;
    }
    around.insert({wire.circuit, wire.from, wire.to});
  }
  for (const profile::Sensor& sensor : bench.sensors) {
    std::visit(
        [&](const auto& model) {
          bool here = false;
          if constexpr (requires { model.plus; }) {
            here = around.contains(model.plus) || around.contains(model.minus);
          } else if constexpr (requires { model.signal; }) {
            here = around.contains(model.signal) || around.contains(model.ground);
          }
          if (here) around.insert(sensor.name);
        },
        sensor.model);
  }
  for (const profile::AnalogChannel& channel : bench.controller->analog) {
    if (around.contains(channel.terminal)) around.insert(channel.name);
  }
  return around;
}

std::set<std::string> PlacesOf(const Truth& truth) {
  std::set<std::string> places;
  for (const Deviation& deviation : truth.deviations) {
    for (const auto& set : deviation.places) places.insert(set.begin(), set.end());
  }
  return places;
}

bool IsThere(const Candidate& candidate, const std::set<std::string>& around) {
  return std::ranges::any_of(candidate.hypothesis.faults, [&](const profile::Fault& fault) {
    return around.contains(fault.at) || (!fault.with.empty() && around.contains(fault.with));
  });
}

}  // namespace

bool Names(const profile::Fault& fault, const Deviation& deviation) {
  if (!deviation.said_as.contains(profile::Name(fault.kind))) return false;
  const auto& places = deviation.places;
  if (places.size() == 1) return places[0].contains(fault.at);
  return (places[0].contains(fault.at) && places[1].contains(fault.with)) ||
         (places[1].contains(fault.at) && places[0].contains(fault.with));
}

namespace {

bool IsCurveOf(const Hypothesis& part, const Deviation& deviation) {
  return part.kind == kOtherCurve && deviation.said_as.contains("sensor_curve") &&
         deviation.places[0].contains(part.faults[0].at);
}

bool NamesAny(const Hypothesis& part, const Deviation& deviation) {
  return IsCurveOf(part, deviation) ||
         std::ranges::any_of(part.faults, [&](const auto& f) { return Names(f, deviation); });
}

}  // namespace

// Each of its faults is one of them, and each of them is one of its faults: a splice is open by
// several.
bool NamesAll(const Candidate& candidate, const Truth& truth) {
  const Hypothesis& said = candidate.hypothesis;
  if (said.faults.empty() || truth.deviations.empty()) return false;
  const std::vector<Hypothesis> parts =
      said.parts.empty() ? std::vector<Hypothesis>{said} : said.parts;
  const auto is_named = [&](const Deviation& deviation) {
    return std::ranges::any_of(parts, [&](const auto& part) { return NamesAny(part, deviation); });
  };
  const auto is_one = [&](const Hypothesis& part) {
    return std::ranges::any_of(truth.deviations, [&](const Deviation& deviation) {
      return IsCurveOf(part, deviation) || std::ranges::all_of(part.faults, [&](const auto& f) {
               return std::ranges::any_of(truth.deviations,
                                          [&](const auto& one) { return Names(f, one); });
             });
    });
  };
  return std::ranges::all_of(truth.deviations, is_named) && std::ranges::all_of(parts, is_one);
}

// Said to look like a healthy bench, by name?
bool IsListed(const std::vector<Candidate>& candidates, const Truth& truth) {
  return std::ranges::any_of(candidates,
                             [&](const Candidate& one) { return NamesAll(one, truth); });
}

Answered WhatIsSaid(const profile::Bench& bench, const Diagnosis& diagnosis) {
  using What = Answered::What;
  const double best = diagnosis.groups.empty() ? 0 : diagnosis.groups[0].share;
  if (diagnosis.healthy) {
    std::string words = "healthy";
    for (const Candidate& like : diagnosis.like_healthy) {
      words += ", or " + Describe(bench, like.hypothesis);
    }
    return {What::kHealthy, diagnosis.healthy_share, false, false, words};
  }
  if (!diagnosis.explained || diagnosis.groups.empty()) {
    return {What::kUnknown, std::max(diagnosis.unknown_share, best), false, false, "none of these"};
  }
  const Group& first = diagnosis.groups[0];
  return {Answered::What::kFault, first.share, false, false,
          Describe(bench, first.members[0].hypothesis)};
}

Answered Judged(const Measure& measure, const Truth& truth, const Diagnosis& diagnosis) {
  Answered answered = WhatIsSaid(measure.bench, diagnosis);
  switch (answered.what) {
    case Answered::What::kHealthy:
      answered.right = measure.moves_nothing() || IsListed(diagnosis.like_healthy, truth);
      break;
    case Answered::What::kUnknown:
      answered.right = truth.group == TruthGroup::kOffTheList;
      break;
    case Answered::What::kFault:
      answered.right =
          std::ranges::any_of(diagnosis.groups[0].members, [&](const Candidate& member) {
            // Not `predicted`: that has the supply and the sensors as they were fitted.
            return NamesAll(member, truth) ||
                   Agree(measure.readings, measure.clean,
                         measure.predictor.Predict(member.hypothesis.faults));
          });
      break;
  }
  answered.place = answered.right;
  if (answered.what == Answered::What::kFault && !answered.right) {
    const auto around = Around(measure.bench, PlacesOf(truth));
    answered.place = std::ranges::any_of(
        diagnosis.groups[0].members, [&](const auto& member) { return IsThere(member, around); });
  }
  return answered;
}

}  // namespace drycrank::diagnose
