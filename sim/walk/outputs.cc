// SPDX-License-Identifier: Apache-2.0
#include "walk/outputs.h"

#include <fmt/format.h>

#include "types/nth.h"
#include "walk/device_wires.h"

namespace drycrank::walk {
namespace {

constexpr double kRestS = 1;

// Common practice at benches, no single source.
std::string CautionFor(const profile::ControllerOutput& output) {
  switch (output.kind) {
    case profile::OutputKind::kIgnition:
    case profile::OutputKind::kTrailingIgnition:
      return "A coil fires: its voltage can kill. Nobody touches coil, lead or plug; a spark "
             "tester "
             "with its ground clipped on, no fuel vapour in the room.";
    case profile::OutputKind::kInjector:
      return "An injector opens. No fuel and no pressure in the rail; do not let it run dry longer "
             "than the question takes.";
    case profile::OutputKind::kLowSide:
    case profile::OutputKind::kHighSide:
      break;
  }
  return fmt::format("{}: it starts without warning. Keep hands, hair, sleeves and tools clear.",
                     output.label);
}

profile::Drive Hold(int stimulus, double value) {
  profile::Drive drive;
  drive.stimulus = stimulus;
  drive.kind = profile::DriveKind::kHold;
  drive.to = value;
  return drive;
}

}  // namespace

std::vector<std::string> CircuitsOfOutput(const profile::Bench& bench,
                                          const profile::ControllerOutput& output,
                                          const std::set<std::string>& elsewhere) {
  const profile::Load& load = Nth(bench.loads, output.load);
  std::vector<std::string> terminals = CoilsAt(bench, output.terminal);
  terminals.insert(terminals.end(), {load.plus, load.minus});
  std::vector<std::string> circuits;
  for (const std::string& circuit : CircuitsOf(bench, terminals)) {
    if (!elsewhere.contains(circuit)) circuits.push_back(circuit);
  }
  return circuits;
}

std::vector<profile::Expectation> ExpectationsOf(const profile::Bench& bench,
                                                 const profile::ControllerOutput& output,
                                                 const std::set<std::string>& elsewhere) {
  std::vector<profile::Expectation> all;
  const auto add = [&](profile::Compare compare, const char* word, double value) {
    profile::Expectation e;
    e.name = fmt::format("output_{}{}", output.name, all.empty() ? "" : "_below");
    e.kind = profile::expect::Always{{profile::FindSignal(bench, output.signal),
                                      fmt::format("{} {} {:g}", output.signal, word, value),
                                      compare, value}};
    e.proves = CircuitsOfOutput(bench, output, elsewhere);
    e.means = fmt::format("{}: its circuit at {} is not whole. Look at its wires and its fuse.",
                          output.label, output.terminal);
    all.push_back(std::move(e));
  };
  if (output.above) add(profile::Compare::kAbove, "above", *output.above);
  if (output.below) add(profile::Compare::kBelow, "below", *output.below);
  return all;
}

std::vector<WalkQuestion> QuestionsOf(const profile::Bench& bench,
                                      const std::set<std::string>& elsewhere) {
  std::vector<WalkQuestion> questions;
  const auto& outputs = bench.controller->outputs;
  for (std::size_t i = 0; i < outputs.size(); ++i) {
    const profile::ControllerOutput& output = outputs[i];
    if (!output.fitted || output.witness == profile::OutputWitness::kBus) continue;
    WalkQuestion question;
    question.output = static_cast<int>(i);
    question.name = output.name;
    question.title = fmt::format("{}, {} at {}", output.label, output.name, output.terminal);
    question.circuits = CircuitsOfOutput(bench, output, elsewhere);
    question.text =
        output.question.empty() ? fmt::format("Does this act: {}?", output.label) : output.question;
    question.caution = CautionFor(output);
    questions.push_back(std::move(question));
  }
  return questions;
}

profile::Scenario DriveOf(const profile::Bench& bench, const profile::ControllerOutput& output,
                          double for_s) {
  profile::Scenario scenario;
  scenario.name = "output_" + output.name;
  scenario.title = output.label;
  profile::Step act, rest;
  act.name = "act";
  act.for_s = for_s;
  rest.name = "rest";
  rest.for_s = kRestS;
  for (const auto& [stimulus, value] : output.driven_by) {
    act.drives.push_back(Hold(stimulus, value));
    rest.drives.push_back(Hold(stimulus, Nth(bench.stimuli, stimulus).initial));
  }
  scenario.steps = {act, rest};
  return scenario;
}

}  // namespace drycrank::walk
