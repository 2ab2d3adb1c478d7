// SPDX-License-Identifier: Apache-2.0
#include "tools/diagnose_questions.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <optional>

#include "report/text.h"
#include "tools/commands.h"
#include "tools/meter_dialogue.h"
#include "tools/said.h"
#include "tools/stop_signals.h"

namespace drycrank::tools {
namespace {

void Say(const std::string& text) {
  fmt::print("{}", text);
  std::fflush(stdout);
}

void SayWrapped(const std::string& text, int columns) {
  for (const std::string& line : report::Wrap(text, columns)) Say(line + "\n");
}

bool IsYesOrNo(const diagnose::Test& test) {
  return std::holds_alternative<diagnose::ComesRight>(test) ||
         std::holds_alternative<diagnose::Jumps>(test);
}

// How the answer is typed.
std::string Wanted(const diagnose::Test& test) {
  if (IsYesOrNo(test)) return "yes or no";
  const auto* probing = std::get_if<diagnose::Probing>(&test);
  if (probing == nullptr) return "the value shown";
  if (probing->meter == diagnose::Meter::kVolts) return "volts, as 4.98 V";
  if (probing->meter == diagnose::Meter::kOhms) return "ohms, as 2.5 kohm or open";
  return "amperes, as 420 mA";
}

// Places and plugs a test needs: what somebody may not get to.
std::vector<std::string> PlacesOf(const diagnose::Test& test) {
  if (const auto* probing = std::get_if<diagnose::Probing>(&test)) {
    std::vector<std::string> places = {diagnose::PlaceOf(probing->plus)};
    if (!probing->minus.empty()) places.push_back(diagnose::PlaceOf(probing->minus));
    return places;
  }
  if (const auto* signal = std::get_if<diagnose::SignalTest>(&test)) return signal->stand.pulled;
  if (const auto* right = std::get_if<diagnose::ComesRight>(&test)) {
    return {right->stand.bridge_a, right->stand.bridge_b};
  }
  return {std::get<diagnose::Jumps>(test).plug};
}

protocol::MeterQuantity QuantityOf(diagnose::Meter meter) {
  if (meter == diagnose::Meter::kVolts) return protocol::MeterQuantity::kVolts;
  return meter == diagnose::Meter::kOhms ? protocol::MeterQuantity::kOhms
                                         : protocol::MeterQuantity::kAmperes;
}

class Conversation {
 public:
  Conversation(Case& at_bench, const std::string& by, int columns, io::BenchMeter* meter)
      : case_(at_bench), by_(by), columns_(columns), meter_(meter, columns) {}

  std::string Hold() {
    meter_.Reach();
    Say("\nType what the meter shows. Also: c = I cannot get there, s = another test,\n"
        "b = take my last reading back, ? = help, q = stop. Everything is kept.\n");
    for (;;) {
      Say("\n" + report::LeftText(case_.bench(), case_.narrowed(), columns_));
      for (const std::string& sentence :
           report::Objections(case_.model(), case_.narrowed(), case_.given())) {
        SayWrapped(sentence, columns_);
      }
      if (case_.narrowed().IsNamed()) return Named();
      const std::vector<diagnose::NextTest> tests = case_.Tests(1);
      if (tests.empty()) return NothingLeft();
      Say("\n" + report::TestText(case_.bench(), case_.narrowed(), tests[0], columns_));
      bool stop = false;
      const std::string problem = AskOne(tests[0], stop);
      if (!problem.empty()) return problem;
      if (stop) return "stopped before one repair was named; what was read is kept";
    }
  }

 private:
  std::string Named() {
    SayWrapped("Mend it, then walk again: only a walk proves that it was that.", columns_);
    return "";
  }

  std::string NothingLeft() {
    SayWrapped(
        case_.narrowed().repairs.size() > 1
            ? "No test that I know tells these apart any further. Begin with the first, then "
              "walk again."
            : "There is nothing more to measure.",
        columns_);
    return "no test is left";
  }

  // Until one answer is kept or another test is wanted.
  std::string AskOne(const diagnose::NextTest& test, bool& stop) {
    for (;;) {
      Say(fmt::format("{}{} [c/s/b/q/?]: ", EnterReads(test.test), Wanted(test.test)));
      const std::optional<std::string> line = TypedLine();
      if (!line || *line == "q" || *line == "quit") {
        Say(line ? "" : "\n");
        stop = true;
        return "";
      }
      if (line->empty()) {
        if (const auto done = TakeFromMeter(test)) return *done;
        continue;
      }
      if (*line == "?" || *line == "help") {
        Help();
      } else if (*line == "s" || *line == "skip") {
        case_.Skip(test.test);
        return "";
      } else if (*line == "b" || *line == "back") {
        return TakeLastBack();
      } else if (*line == "c" || *line == "cannot") {
        if (const auto done = Cannot(test)) return *done;
      } else if (const auto done = TakeLine(test, *line)) {
        return *done;
      }
    }
  }

  void Help() const {
    Say("  4.98, 4,98 V, 2.5 kohm, open, 420 mA     the reading of this test\n"
        "  CMP.3=0.72 V                             a reading at another place\n"
        "  CLT.1-CLT.2=2.5 kohm                     ohms between two places, key off\n"
        "  cannot CLT.1   cannot ECU                a pin or plug nobody gets to\n"
        "  wiggle CLT: yes                          a reading jumped when the plug was moved\n"
        "  unplug CLT: engine_temps.coolant=-40     what is shown with the plug pulled\n");
  }

  std::string EnterReads(const diagnose::Test& test) const {
    const auto* probing = std::get_if<diagnose::Probing>(&test);
    return probing == nullptr ? "" : meter_.EnterReads(QuantityOf(probing->meter));
  }

  // Nothing: ask again.
  std::optional<std::string> TakeFromMeter(const diagnose::NextTest& test) {
    const auto* probing = std::get_if<diagnose::Probing>(&test.test);
    const auto value = probing == nullptr ? std::nullopt : meter_.Read(QuantityOf(probing->meter));
    if (!value) return std::nullopt;
    return Keep(SaidOf(case_.model(), {test.test, *value}), meter_.identity());
  }

  // Nothing: ask again.
  std::optional<std::string> Keep(const std::string& said, const std::string& from) {
    const Case::Taken taken = case_.Take(said, by_, from);
    if (taken.not_kept) return taken.problem;
    if (!taken.problem.empty()) {
      SayWrapped("  " + taken.problem, columns_);
      return std::nullopt;
    }
    Say(fmt::format("  kept as {}: {}\n", case_.book().readings().back().number, said));
    return "";
  }

  // Nothing: ask again.
  std::optional<std::string> TakeLine(const diagnose::NextTest& test, const std::string& line) {
    const bool whole = line.find_first_of("=:") != std::string::npos || line.starts_with("cannot ");
    std::string said = line;
    if (!whole || std::holds_alternative<diagnose::SignalTest>(test.test)) {
      const Said value = ReadValue(case_.model(), test.test, line);
      if (value.answered) {
        said = SaidOf(case_.model(), *value.answered);
      } else if (!whole) {
        SayWrapped("  " + value.problem, columns_);
        return std::nullopt;
      }
    }
    return Keep(said, "");
  }

  std::optional<std::string> Cannot(const diagnose::NextTest& test) {
    std::vector<std::string> places = PlacesOf(test.test);
    if (places.empty()) {
      case_.Skip(test.test);
      return "";
    }
    std::string place = places[0];
    if (places.size() > 1) {
      Say(fmt::format("which one, {} or {}? ", places[0], places[1]));
      const std::optional<std::string> line = TypedLine();
      if (!line) return "stopped before one repair was named; what was read is kept";
      if (std::ranges::find(places, *line) == places.end()) return std::nullopt;
      place = *line;
    }
    const Case::Taken taken = case_.Take("cannot " + place, by_);
    if (taken.problem.empty()) Say(fmt::format("  kept: nobody gets to {}\n", place));
    return taken.problem;
  }

  std::string TakeLastBack() {
    if (case_.book().readings().empty()) {
      Say("  there is no reading to take back\n");
      return "";
    }
    const KeptReading last = case_.book().readings().back();
    if (const std::string problem = case_.book().TakeBack(last.number, by_); !problem.empty()) {
      return problem;
    }
    Say(fmt::format("  taken back: {}\n", last.said));
    return case_.Weigh();
  }

  Case& case_;
  const std::string& by_;
  int columns_;
  MeterDialogue meter_;
};

}  // namespace

Case::Case(const profile::Bench& bench, diagnose::Predictor& predictor,
           const diagnose::Observation& observed, const diagnose::Diagnosis& diagnosis,
           MeasurementBook& book)
    : bench_(bench),
      diagnosis_(diagnosis),
      book_(book),
      model_(bench, predictor, observed),
      repairs_(bench) {}

std::string Case::Weigh() {
  given_.clear();
  at_hand_ = {};
  std::vector<diagnose::Answered> answers;
  for (const KeptReading& kept : book_.readings()) {
    const Said said = ReadSaid(model_, kept.said);
    if (!said.problem.empty()) {
      return fmt::format(
          "reading {} ({}) does not fit this bench any more: {}. Take it back: "
          "--take-back {}",
          kept.number, kept.said, said.problem, kept.number);
    }
    if (!said.cannot.empty()) {
      at_hand_.cannot.insert(said.cannot);
      continue;
    }
    given_.push_back({kept.number, kept.said, kept.time, kept.by, *said.answered, kept.meter});
    answers.push_back(*said.answered);
    at_hand_.done.push_back(said.answered->test);
  }
  narrowed_ = diagnose::Narrow(model_, repairs_, diagnosis_, answers);
  return "";
}

Case::Taken Case::Take(const std::string& said, const std::string& by, const std::string& meter) {
  const Said read = ReadSaid(model_, said);
  if (!read.problem.empty()) return {read.problem, read.column, false};
  if (const std::string problem = book_.Add(said, by, meter);
      !problem.empty()) return {problem, 1, true};
  return {Weigh(), 1, false};
}

std::vector<diagnose::NextTest> Case::Tests(std::size_t most) {
  diagnose::AtHand at_hand = at_hand_;
  at_hand.done.insert(at_hand.done.begin(), skipped_.begin(), skipped_.end());
  return diagnose::NextTests(model_, narrowed_, at_hand, most);
}

std::string AskAtTheBench(Case& at_bench, const std::string& by, int columns, io::BenchMeter* meter) {
  return Conversation(at_bench, by, columns, meter).Hold();
}

}  // namespace drycrank::tools
