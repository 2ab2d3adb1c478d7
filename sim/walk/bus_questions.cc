// SPDX-License-Identifier: Apache-2.0
#include "walk/bus_questions.h"

#include <fmt/format.h>

#include <algorithm>
#include <string>

#include "profile/bus_nodes.h"
#include "types/nth.h"
#include "types/unit.h"
#include "walk/device_wires.h"
#include "walk/display_talks.h"

namespace drycrank::walk {
namespace {

using profile::Bench;
using profile::Bus;
using profile::BusNode;

constexpr double kTerminationOhm = 120;  // ISO 11898-2

std::string Ohms(double siemens) {
  return WithUnit(fmt::format("{:.3g}", 1 / siemens), "ohm");
}

bool HasControllersMessage(const Bus& bus) {
  return std::ranges::count(bus.messages, profile::Sender::kController,
                            &profile::Message::sender) > 0;
}

WalkQuestion LooksAlive(const Bench& bench, const Bus& bus) {
  const BusNode& node = Nth(bus.nodes, profile::IndexOf(bus.nodes, "display"));
  WalkQuestion question;
  question.name = profile::kDisplayQuestion;
  question.title = fmt::format("Display, {} at {}", question.name, node.high);
  question.text = "Key on: does the display show values (else: dark, or nothing but dashes)?";
  question.circuits = CircuitsOf(bench, TerminalsOf(bench, node));
  question.means =
      "The display shows no values. Dark: look for its supply and its ground. Lit, and nothing but "
      "dashes: look for CANH and CANL, at its plug first.";
  return question;
}

// All together, one gone, one more.
std::string IfOneIsGone(const Bus& bus, double siemens) {
  std::string words;
  for (const BusNode& node : bus.nodes) {
    if (node.termination_ohm == 0) continue;
    const double left = siemens - 1 / node.termination_ohm;
    if (!words.empty() || left < 1e-9) continue;
    words = fmt::format("{}: one termination is missing, or the pair is open on the way to it; ",
                        Ohms(left));
  }
  return words;
}

WalkQuestion PairMeasured(const Bench& bench, const Bus& bus) {
  double siemens = 0;
  std::vector<std::string> terminals;
  for (const BusNode& node : bus.nodes) {
    if (node.termination_ohm == 0) continue;
    siemens += 1 / node.termination_ohm;
    terminals.insert(terminals.end(), {node.high, node.low});
  }
  WalkQuestion question;
  question.name = profile::TerminationQuestion(bus);
  question.title = fmt::format("Terminations of bus {}, {}", bus.name, question.name);
  question.text = fmt::format("Key off, battery off, all plugs on: does the meter show {} from {} to {}?",
                              Ohms(siemens), terminals[0], terminals[1]);
  question.circuits = CircuitsOf(bench, terminals);
  question.means = fmt::format("{}{}: one too many; a few ohm: the two wires touch.",
                               IfOneIsGone(bus, siemens), Ohms(siemens + 1 / kTerminationOhm));
  return question;
}

}  // namespace

std::vector<WalkQuestion> BusQuestions(const Bench& bench) {
  std::vector<WalkQuestion> questions;
  bool asked = false;  // there is one display
  for (const Bus& bus : bench.buses) {
    if (!asked && profile::HasListeningDisplay(bus) && HasControllersMessage(bus)) {
      questions.push_back(LooksAlive(bench, bus));
      asked = true;
    }
    if (profile::HasTerminations(bus)) questions.push_back(PairMeasured(bench, bus));
  }
  return questions;
}

}  // namespace drycrank::walk
