// SPDX-License-Identifier: Apache-2.0
#include "tools/display_ended.h"

#include <fmt/format.h>

#include <algorithm>

#include "tools/commands.h"

namespace drycrank::tools {
namespace {

constexpr char kNothingAtAll[] = "the display told nothing at all";

bool HasFacts(const sweep::Swept& swept, const std::string& readout) {
  return std::ranges::find(swept.facts, readout, &sweep::ShownFact::readout) != swept.facts.end();
}

// Of one that was told no more while others were.
std::string NoMore(const EchoScreen::Gone& gone, bool has_facts) {
  if (gone.last_ns < 0) {
    return fmt::format("the display told nothing of {}, while it told others",
                       gone.parts.empty() ? "it" : gone.parts);
  }
  const char* where = has_facts                      ? "before the rest of it"
                      : gone.last_ns < gone.swept_ns ? "before it was swept"
                                                     : "while it was swept";
  return fmt::format("{}gone at {:.1f} s, {}; the display told others on",
                     gone.parts.empty() ? "" : gone.parts + " was ", ToSeconds(gone.last_ns),
                     where);
}

}  // namespace

HowItEnded EndOf(const sweep::Swept& swept, const EchoScreen& screen) {
  if (swept.fell_silent_at.empty()) return {};
  if (screen.refused() > 0) {
    return {fmt::format("a bus took no more frames at {:.1f} s", ToSeconds(screen.refused_ns())),
            ""};
  }
  if (StopAsked()) return {"the sweep was stopped", ""};
  if (screen.last_heard_ns() < 0) {
    return {kNothingAtAll, "The display told nothing at all: no message of it came."};
  }
  const std::string gone = fmt::format("gone at {:.1f} s", ToSeconds(screen.last_heard_ns()));
  return {gone, fmt::format("The display fell silent: {}, while {} was swept.", gone,
                            swept.fell_silent_at)};
}

std::vector<sweep::Ended> EndedIn(const sweep::Swept& swept, const std::string& why,
                                  const EchoScreen* screen) {
  std::vector<sweep::Ended> ended;
  for (const std::string& name : swept.not_told) {
    const auto gone = screen == nullptr ? EchoScreen::Gone{} : screen->GoneOf(name);
    ended.push_back({name, NoMore(gone, HasFacts(swept, name))});
  }
  for (const std::string& name : swept.not_reached) {
    const char* where = why == kNothingAtAll           ? ""
                        : HasFacts(swept, name)        ? ", before the rest of it"
                        : name == swept.fell_silent_at ? ", while it was swept"
                                                       : ", before it was swept";
    ended.push_back({name, why + where});
  }
  return ended;
}

}  // namespace drycrank::tools
