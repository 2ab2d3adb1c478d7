// SPDX-License-Identifier: Apache-2.0
#include "tools/arming.h"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>

#include "report/report.h"
#include "tools/stop_signals.h"
#include "types/plain_text.h"

namespace drycrank::tools {
namespace {

struct Question {
  std::vector<bus::CanBus*> buses;  // that drive hardware
  std::vector<bus::Driven> driven;  // each piece of it, once
};

Question WhatIsDriven(const std::vector<bus::CanBus*>& buses,
                      const std::vector<bus::Driven>& outputs) {
  Question question{{}, outputs};
  for (bus::CanBus* outside : buses) {
    if (outside == nullptr || outside->IsVirtual()) continue;
    question.buses.push_back(outside);
    for (const bus::Driven& driven : outside->Drives()) {
      if (std::ranges::count(question.driven, driven) == 0) question.driven.push_back(driven);
    }
  }
  return question;
}

void Show(const Question& question) {
  fmt::print(stderr, "\nWhat this command sends reaches hardware:\n");
  for (const bus::Driven& driven : question.driven) {
    fmt::print(stderr, "  {} ({}){}\n", driven.name, driven.kind.empty() ? "no kind" : driven.kind,
               driven.way.empty() ? "" : ": " + driven.way);
  }
  for (const std::string& caution : report::Cautions()) fmt::print(stderr, "  - {}\n", caution);
}

// Those that --arm does not name.
std::vector<bus::Driven> Unnamed(const Question& question, const ArmingWish& wish) {
  std::vector<bus::Driven> unnamed;
  std::ranges::copy_if(
      question.driven, std::back_inserter(unnamed),
      [&](const bus::Driven& driven) { return std::ranges::count(wish.what, driven.name) == 0; });
  return unnamed;
}

// Whoever arms something believes that it is driven. Of a name that is no hardware's it is said what is. A bus
// of this computer alone needs no arming, and may have it: its name is not known here.
std::string WhyUnknown(const Question& question, const ArmingWish& wish,
                       const std::vector<bus::CanBus*>& buses) {
  const bool is_virtual = std::ranges::any_of(buses, [](const bus::CanBus* bus) { return bus != nullptr; });
  if (question.driven.empty() && is_virtual) return "";
  for (const std::string& what : wish.what) {
    if (std::ranges::count(question.driven, what, &bus::Driven::name) > 0) continue;
    if (question.driven.empty()) {
      return fmt::format("--arm {}: no hardware is driven here, so there is nothing to arm; leave it out, "
                         "or name an interface or output that is driven.",
                         what);
    }
    return fmt::format("--arm {}: there is no hardware of that name here. There is: {}.", what,
                       bus::NamesOf(question.driven));
  }
  return "";
}

std::string Answer(const char* question) {
  fmt::print(stderr, "{}", question);
  return OneLine(TypedLine().value_or(""));
}

Arming Refuse(const std::string& why) {
  fmt::print(stderr, "\nNothing was driven. {}\n", why);
  return {false, std::nullopt};
}

}  // namespace

void AddArmingOptions(CLI::App& app, ArmingWish& wish, const char* by) {
  app.add_option(
         "--arm", wish.what,
         "Hardware that may be driven, by name: can0, or can0,can1; an output as the bench calls it")
      ->delimiter(',')
      ->allow_extra_args(false)
      ->type_name("WHAT");
  app.add_option("--by", wish.by, by)->type_name("WHO");
}

Arming Arm(const std::vector<bus::CanBus*>& buses, const ArmingWish& wish,
           const std::vector<bus::Driven>& outputs) {
  const Question question = WhatIsDriven(buses, outputs);
  const std::string unknown = WhyUnknown(question, wish, buses);
  if (question.driven.empty() && question.buses.empty()) return unknown.empty() ? Arming{} : Refuse(unknown);
  Show(question);
  const std::vector<bus::Driven> unnamed = Unnamed(question, wish);
  if (!unnamed.empty()) {
    return Refuse(
        fmt::format("{} is not armed. When the bench is safe, run it again with --arm {} "
                    "--by NAME.",
                    bus::NamesOf(unnamed), bus::NamesOf(question.driven, ",")));
  }
  if (!unknown.empty()) return Refuse(unknown);
  const bool can_ask = isatty(STDIN_FILENO) != 0;
  std::string by = OneLine(wish.by);
  if (by.empty() && can_ask) by = Answer("\nWho arms it? Your name: ");
  if (by.empty()) return Refuse("Say who arms it: --by NAME.");
  if (can_ask && Answer("Is the bench safe, and may it be driven? Type yes: ") != "yes") {
    return Refuse("Not armed.");
  }
  for (bus::CanBus* outside : question.buses) outside->Arm();
  return {true, ArmedNow(question.driven, by)};
}

record::Armed ArmedNow(const std::vector<bus::Driven>& what, const std::string& by) {
  const auto now = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
  return {what, by, fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", now)};
}

}  // namespace drycrank::tools
