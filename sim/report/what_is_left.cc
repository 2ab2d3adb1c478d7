// SPDX-License-Identifier: Apache-2.0
#include "report/what_is_left.h"

#include <fmt/format.h>

#include <algorithm>

#include "report/text.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

constexpr std::size_t kRepairsShown = 5, kFaultsShown = 4, kSuspectsShown = 4, kAnswersShown = 6;
constexpr double kLeastShare = 0.005;

// `text` in lines behind `head`, the further ones as far in.
std::string Hanging(const std::string& head, const std::string& text, int columns) {
  const int indent = Width(head);
  std::string out, begin = head;
  for (const std::string& line : Wrap(KeepUnits(text), std::max(columns - indent, 20))) {
    out += begin + line + "\n";
    begin = std::string(AsSize(indent), ' ');
  }
  return out;
}

std::string CautionFor(const diagnose::Probing& test) {
  using diagnose::Meter;
  if (test.meter == Meter::kOhms) {
    return "key off and the battery's plus off before the probes touch: a meter on ohms must meet "
           "no "
           "voltage. Do not spread contacts with the probe.";
  }
  if (test.meter == Meter::kAmperes) {
    return "coils and injectors unplugged. Key off, put the meter in series in its 10 A socket, "
           "then "
           "key on. Never across the battery. Back to the volts socket afterwards.";
  }
  return "key on. Coils and injectors unplugged. Probe from the wire side; do not pierce "
         "insulation "
         "or spread contacts; volts, not amperes.";
}
std::string CautionFor(const diagnose::SignalTest& test) {
  if (test.stand.pulled.empty()) return "key on. Coils and injectors unplugged.";
  return "key off while a plug is pulled or put on. Coils and injectors unplugged.";
}
std::string CautionFor(const diagnose::ComesRight& /*test*/) {
  return "key on. Coils and injectors unplugged. Bridge with a thin wire that has a 1 A fuse, from "
         "the wire side, and never to any other pin.";
}
std::string CautionFor(const diagnose::Jumps& /*test*/) {
  return "key on. Coils and injectors unplugged. Move the plug and the first ten centimetres of "
         "its wires, gently.";
}

}  // namespace

std::string CautionOf(const diagnose::Test& test) {
  return std::visit([](const auto& kind) { return CautionFor(kind); }, test);
}

std::vector<std::string> SuspectsOf(const profile::Bench& bench, const diagnose::Narrowed& narrowed,
                                    const diagnose::Answer& answer, std::size_t most) {
  std::vector<std::string> words;
  for (std::size_t i = 0; i < answer.suspects.size() && i < most; ++i) {
    const diagnose::Suspect& suspect = narrowed.suspects[answer.suspects[i]];
    words.push_back(diagnose::Describe(bench, suspect.hypothesis));
  }
  if (answer.suspects.size() > most) {
    words.push_back(fmt::format("and {} more", answer.suspects.size() - most));
  }
  if (answer.healthy_too) words.push_back("nothing is wrong with the wires");
  return words;
}

std::string TestText(const profile::Bench& bench, const diagnose::Narrowed& narrowed,
                     const diagnose::NextTest& test, int columns) {
  std::string out = Hanging("Next test: ", test.what, columns);
  out += Hanging("  CAUTION: ", CautionOf(test.test), columns);
  // The answers in a column of their own, when there is room for two.
  int wide = 0;
  for (const diagnose::Answer& answer : test.answers) wide = std::max(wide, Width(answer.shows));
  const bool two_columns = columns >= 80 && wide <= 30;
  for (std::size_t a = 0; a < test.answers.size() && a < kAnswersShown; ++a) {
    const diagnose::Answer& answer = test.answers[a];
    std::string head = "  " + PadRight(answer.shows, two_columns ? wide : 0) + "  ";
    if (!two_columns) {
      out += Hanging("  ", answer.shows, columns);
      head = "    ";
    }
    for (const std::string& words : SuspectsOf(bench, narrowed, answer, kSuspectsShown)) {
      out += Hanging(head, words, columns);
      head = std::string(AsSize(Width(head)), ' ');
    }
  }
  if (test.answers.size() > kAnswersShown) {
    out += fmt::format("  or {} other answers\n", test.answers.size() - kAnswersShown);
  }
  return out;
}

std::string LeftText(const profile::Bench& bench, const diagnose::Narrowed& narrowed, int columns) {
  std::string out;
  if (narrowed.IsNamed()) {
    const diagnose::RepairLeft& repair = narrowed.repairs[0];
    out += Hanging("REPAIR: ", fmt::format("{} ({})", repair.repair.words, Believed(repair.share)),
                   columns);
    for (std::size_t i = 0; i < repair.suspects.size() && i < kFaultsShown; ++i) {
      const diagnose::Suspect& suspect = narrowed.suspects[repair.suspects[i]];
      if (suspect.share < kLeastShare && i > 0) break;
      out += Hanging(i == 0 ? "   for  " : "   or   ",
                     diagnose::Describe(bench, suspect.hypothesis), columns);
    }
    return out;
  }
  out += "Left, by repair:\n";
  std::size_t shown = 0;
  for (const diagnose::RepairLeft& repair : narrowed.repairs) {
    if (shown == kRepairsShown || (shown > 0 && repair.share < kLeastShare)) break;
    ++shown;
    out += Hanging(fmt::format("  {:>4}  ", Believed(repair.share)), repair.repair.words, columns);
  }
  out += Hanging(fmt::format("  {:>4}  ", Believed(narrowed.unknown_share)),
                 "something that is not on my list", columns);
  if (narrowed.healthy_share >= kLeastShare) {
    out += Hanging(fmt::format("  {:>4}  ", Believed(narrowed.healthy_share)),
                   "nothing that these readings show", columns);
  }
  return out;
}

std::vector<std::string> Objections(const diagnose::MeasuredModel& model,
                                    const diagnose::Narrowed& narrowed,
                                    std::span<const GivenReading> given) {
  std::vector<std::string> sentences;
  for (const auto& [a, b] : narrowed.contradict) {
    sentences.push_back(fmt::format(
        "Readings {} and {} are of the same test and differ: {} and {}. Take the wrong one back "
        "(--take-back {}); if both are right, the fault comes and goes.",
        given[a].number, given[b].number, model.InWords(given[a].answered),
        model.InWords(given[b].answered), given[a].number));
  }
  for (const std::size_t i : narrowed.fits_nobody) {
    sentences.push_back(
        fmt::format("Reading {} ({}): no suspect gives this reading: check the probe, or the fault "
                    "is not on my "
                    "list. To take it back: --take-back {}.",
                    given[i].number, given[i].said, given[i].number));
  }
  if (narrowed.none_fits_all && narrowed.contradict.empty()) {
    sentences.push_back(
        "Each reading fits some suspect, but no suspect gives them all: one of them may be wrong, "
        "or "
        "there are two faults. Measure the last one again.");
  }
  return sentences;
}

std::string GivenText(std::span<const GivenReading> given, int columns) {
  if (given.empty()) return "";
  std::string out = "Readings taken at the bench:\n";
  for (const GivenReading& reading : given) {
    std::string who = reading.by.empty() ? "" : ", " + reading.by;
    if (!reading.meter.empty()) who += ", read from " + reading.meter;
    out += Hanging(fmt::format("  {:2}. ", reading.number),
                   fmt::format("{}  ({}{})", reading.said, reading.time, who), columns);
  }
  return out;
}

}  // namespace drycrank::report
