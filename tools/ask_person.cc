// SPDX-License-Identifier: Apache-2.0
#include "tools/ask_person.h"

#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <ctime>
#include <string>

#include "tools/commands.h"
#include "tools/keyboard.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

constexpr TimeNs kSliceNs = 50 * kNsPerMs;

// "113 red": the last word is the lamp, where the display has one of that name.
sweep::Reading ReadingOf(const std::string& line, const profile::Readout& readout, int question,
                         int page) {
  sweep::Reading reading{question, page, readout.name, line, "", std::time(nullptr)};
  std::vector<std::string> words{"?", "warns", "quiet"};
  if (!readout.lamp.empty()) words = {readout.lamp + sweep::kBlinks, readout.lamp, "?"};
  for (const std::string& word : words) {
    if (!line.ends_with(" " + word)) continue;
    reading.text = line.substr(0, line.size() - word.size() - 1);
    reading.lamp = word;
    break;
  }
  return reading;
}

const char* HowTo(const sweep::Question& question) {
  const bool warns = std::ranges::any_of(
      question.readouts, [](const auto* readout) { return sweep::WarnsWithoutLamp(*readout); });
  return warns ? "  (the number or word as it stands; the lamp if one is lit: 113 red, or 113 red\n"
                 "  blinks; without a lamp, whether it warns: 113 warns, 95 quiet)\n"
               : "  (the number or word as it stands, and the lamp if one is lit: 113 red)\n";
}

}  // namespace

std::optional<std::string> Keyboard::Line() {
  while (!StopAsked()) {
    if (const auto end = buffer_.find('\n'); end != std::string::npos) {
      std::string line = buffer_.substr(0, end);
      buffer_.erase(0, end + 1);
      return line;
    }
    screen_.Play(screen_.now_ns() + kSliceNs, STDIN_FILENO);
    pollfd asked{STDIN_FILENO, POLLIN, 0};
    if (poll(&asked, 1, 0) != 1) continue;
    char bytes[256];
    const ssize_t count = ::read(STDIN_FILENO, bytes, sizeof(bytes));
    if (count <= 0) return std::nullopt;
    buffer_.append(bytes, AsSize(count));
  }
  return std::nullopt;
}

std::string AskPerson(const profile::Bench& bench, const std::vector<profile::Readout>& readouts,
                      EchoScreen& screen, KeptReadings& kept) {
  Keyboard keyboard(screen);
  for (sweep::Question question : sweep::QuestionsOf(readouts)) {
    const sweep::Question whole = question;
    std::erase_if(question.readouts, [&](const profile::Readout* readout) {
      return kept.Has(question.question, readout->name);
    });
    if (question.readouts.empty()) continue;
    sweep::SendQuestion(bench, whole, screen);
    fmt::print("Page {}, question {} of {}: what do you read there?\n{}", question.page,
               question.question, sweep::kQuestions, HowTo(question));
    for (const profile::Readout* readout : question.readouts) {
      fmt::print("  {}: ", readout->label);
      std::fflush(stdout);
      const auto line = keyboard.Line();
      if (!line) return {};
      if (line->empty()) continue;
      std::string problem = kept.Keep(ReadingOf(*line, *readout, question.question, question.page));
      if (!problem.empty()) return problem;
    }
  }
  return {};
}

}  // namespace drycrank::tools
