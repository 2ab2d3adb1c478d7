// SPDX-License-Identifier: Apache-2.0
#include "study/bus_seen.h"

#include <algorithm>
#include <cmath>
#include <span>

#include "diagnose/bus_signs.h"
#include "diagnose/meter.h"
#include "profile/bus_nodes.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using diagnose::DisplayLook;
using profile::Answer;
using profile::Bench;

constexpr double kTellsZ = 3;  // deviations of the meter

// One for each wire of the circuit that is there.
std::vector<profile::Fault> OpensOf(const Bench& bench, const std::string& circuit) {
  std::vector<profile::Fault> opens;
  for (std::size_t w = 0; w < bench.wires.size(); ++w) {
    if (bench.wires[w].circuit != circuit || !bench.wires[w].fitted) continue;
    profile::Fault& open = opens.emplace_back();
    open.kind = profile::fault::Open{static_cast<int>(w)};
    open.at = open.name = circuit;
  }
  return opens;
}

template <class Tells>
bool AnOpenTells(const Bench& bench, const std::string& circuit, const Tells& tells) {
  return std::ranges::any_of(OpensOf(bench, circuit), tells);
}

}  // namespace

bool EachOpenTells(const Bench& bench, const std::string& circuit,
                   const std::function<bool(const profile::Fault&)>& tells) {
  const std::vector<profile::Fault> opens = OpensOf(bench, circuit);
  return !opens.empty() && std::ranges::all_of(opens, tells);
}

std::vector<std::string> ShownByLook(const Bench& bench, const std::vector<std::string>& circuits,
                                     Answer answer) {
  const auto look = [&](const profile::Fault& open) {
    return diagnose::LookWith(bench, std::span(&open, 1));
  };
  std::vector<std::string> shown;
  for (const std::string& circuit : circuits) {
    const auto is_other = [&](const profile::Fault& f) { return look(f) != DisplayLook::kValues; };
    const auto is_dark = [&](const profile::Fault& f) { return look(f) == DisplayLook::kDark; };
    const auto is_dashes = [&](const profile::Fault& f) { return look(f) == DisplayLook::kDashes; };
    const bool speaks = answer == Answer::kYes      ? EachOpenTells(bench, circuit, is_other)
                        : answer == Answer::kDark   ? AnOpenTells(bench, circuit, is_dark)
                        : answer == Answer::kOnlyDashes ? AnOpenTells(bench, circuit, is_dashes)
                                                    : AnOpenTells(bench, circuit, is_other);
    if (speaks) shown.push_back(circuit);
  }
  return shown;
}

std::vector<std::string> ShownByOhms(const Bench& bench, const walk::WalkQuestion& question) {
  std::vector<std::string> shown;
  const diagnose::MeterModel meter(bench);
  for (const profile::Bus& bus : bench.buses) {
    if (profile::TerminationQuestion(bus) != question.name) continue;
    const auto ended = std::ranges::find_if(
        bus.nodes, [](const profile::BusNode& node) { return node.termination_ohm > 0; });
    if (ended == bus.nodes.end()) continue;
    const diagnose::Probing across{diagnose::Meter::kOhms, ended->high + "~", ended->low + "~", {},
                                   diagnose::RestOf(bench)};
    const diagnose::Spread whole = meter.Expect(across, {});
    const auto tells = [&](const profile::Fault& open) {
      const double y = meter.Expect(across, std::span(&open, 1)).y;
      return std::abs(y - whole.y) > kTellsZ * whole.sigma;
    };
    for (const std::string& circuit : question.circuits) {
      if (EachOpenTells(bench, circuit, tells)) shown.push_back(circuit);
    }
  }
  return shown;
}

}  // namespace drycrank::study
