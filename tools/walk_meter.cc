// SPDX-License-Identifier: Apache-2.0
#include "tools/walk_meter.h"

#include <fmt/format.h>

#include <cstdio>

#include "diagnose/meter.h"
#include "report/text.h"
#include "tools/stop_signals.h"
#include "tools/typed_value.h"
#include "tools/utc_minute.h"
#include "types/ohm_text.h"

namespace drycrank::tools {
namespace {

using profile::Answer;
using protocol::MeterQuantity;

void Say(const std::string& text) {
  fmt::print("{}", text);
  std::fflush(stdout);
}

std::string Wanted(const study::MeterLeg& leg) {
  return leg.least_ohm > 0 ? fmt::format("{} to {}", OhmText(leg.least_ohm), OhmText(leg.most_ohm))
                           : fmt::format("{} at most", OhmText(leg.most_ohm));
}

std::string Off(const study::MeterLeg& leg) {
  return leg.pulled.empty() ? "all plugs on" : "pulled: " + report::Join(leg.pulled);
}

std::string Shown(double ohm) { return diagnose::InWords(diagnose::Meter::kOhms, ohm); }

}  // namespace

std::optional<profile::GivenAnswer> WalkMeter::Ask(const study::MeterTask& task) {
  profile::GivenAnswer given{task.about, Answer::kYes, {}};
  for (const study::MeterLeg& leg : task.legs) {
    const std::optional<Answer> answer = AskLeg(leg, given);
    if (!answer) return std::nullopt;
    given.answer = *answer;
    if (given.answer != Answer::kYes) break;
  }
  if (given.answer == Answer::kSkip || given.answer == Answer::kNotFitted) given.readings.clear();
  return given;
}

std::optional<Answer> WalkMeter::AskLeg(const study::MeterLeg& leg, profile::GivenAnswer& given) {
  Say(fmt::format("   Key off, the battery's plus off, {}. Probes on {} and {} (the harness side): {}.\n", Off(leg),
                  leg.plus, leg.minus, Wanted(leg)));
  std::optional<profile::MeterReading> wrong;
  for (;;) {
    Say(fmt::format("   {}{}ohms, as 0.2 ohm or open [s(kip)/f (not fitted)/q(uit)]: ", wrong ? "n keeps it; " : "",
                    dialogue_.EnterReads(MeterQuantity::kOhms)));
    const std::optional<std::string> line = TypedLine();
    if (!line || *line == "q" || *line == "quit") return std::nullopt;
    if (wrong && profile::ParseAnswer(*line) == Answer::kNo) {
      given.readings.push_back(*wrong);
      return Answer::kNo;
    }
    const std::optional<Answer> word = profile::ParseAnswer(*line);
    if (word == Answer::kSkip || word == Answer::kNotFitted) return word;
    std::string meter;
    const std::optional<double> ohm = Take(*line, meter);
    if (!ohm) continue;
    const profile::MeterReading reading{leg.plus, leg.minus, *ohm, UtcMinute(), by_, meter};
    if (study::IsWhole(leg, *ohm)) {
      Say(fmt::format("   {}: as it should be\n", Shown(*ohm)));
      given.readings.push_back(reading);
      return Answer::kYes;
    }
    Say(fmt::format("   {}: NOT as it should be ({}). Look where the probes are, and read again\n", Shown(*ohm),
                    Wanted(leg)));
    wrong = reading;
  }
}

std::optional<double> WalkMeter::Take(const std::string& line, std::string& meter) {
  if (line.empty()) {
    const std::optional<double> ohm = dialogue_.Read(MeterQuantity::kOhms);
    meter = dialogue_.identity();
    return ohm;
  }
  std::string problem;
  const std::optional<double> ohm = ReadTyped(line, "ohm", /*bare=*/false, problem);
  if (!ohm) Say(fmt::format("   {}\n", problem));
  return ohm;
}

}  // namespace drycrank::tools
