// SPDX-License-Identifier: Apache-2.0
#include "tools/ask_person.h"

#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <ctime>
#include <string>

#include "sweep/person_manner.h"
#include "sweep/why_not_read.h"
#include "tools/commands.h"
#include "tools/keyboard.h"
#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::tools {
namespace {

constexpr TimeNs kSliceNs = 50 * kNsPerMs;

sweep::Reading ReadingOf(const std::string& line, const profile::Readout& readout, int question,
                         int page) {
  sweep::Reading reading{question, page, readout.name, line, "", std::time(nullptr)};
  sweep::TakeLampFromText(reading, readout);
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

namespace {

bool Remembers(const profile::Readout& readout) {
  return readout.lamp_latches || readout.keeps != profile::Keeps::kNothing;
}

class Asking {
 public:
  Asking(const profile::Bench& bench, EchoScreen& screen, KeptReadings& kept)
      : bench_(bench), screen_(screen), kept_(kept), keyboard_(screen) {}

  // False: no more input, or an answer could not be kept.
  bool Ask(const sweep::Question& whole) {
    sweep::Question question = whole;
    std::erase_if(question.readouts, [&](const profile::Readout* readout) {
      return kept_.Has(question.question, readout->name);
    });
    const auto manner = sweep::MannerOf(whole.question);
    if (question.readouts.empty()) {
      if (!manner) SeenAgain(whole);
      return true;
    }
    Send(whole);
    SayWhat(question);
    return std::ranges::all_of(question.readouts,
                               [&](const auto* readout) { return AskOne(question, *readout); });
  }
  std::string problem;

 private:
  void Send(const sweep::Question& question) {
    if (sweep::MannerOf(question.question)) {
      sweep::SendManner(bench_, question, screen_);
    } else {
      sweep::SendQuestion(bench_, question, screen_);
    }
  }
  // A display that keeps or latches something has to see again what was answered before a resume.
  void SeenAgain(const sweep::Question& question) {
    const auto remembers = [](const profile::Readout* readout) { return Remembers(*readout); };
    if (std::ranges::none_of(question.readouts, remembers)) return;
    Send(question);
    screen_.LetArrive();
  }
  static void SayWhat(const sweep::Question& question) {
    if (const auto manner = sweep::MannerOf(question.question)) {
      fmt::print("Page {}, {}\n{}", question.page, sweep::AskedWords(*manner),
                 sweep::IsTimed(*manner) ? "" : HowTo(question));
    } else {
      fmt::print("Page {}, question {} of {}: what do you read there?\n{}", question.page,
                 question.question, sweep::kQuestions, HowTo(question));
    }
  }
  bool AskOne(const sweep::Question& question, const profile::Readout& readout) {
    const auto manner = sweep::MannerOf(question.question);
    const bool is_timed = manner && sweep::IsTimed(*manner);
    while (true) {
      fmt::print("  {}{}: ", readout.label,
                 readout.bar && !is_timed ? ", how many segments are lit" : "");
      std::fflush(stdout);
      const auto line = keyboard_.Line();
      if (!line) return false;
      if (line->empty()) return true;
      if (is_timed && !sweep::CountedTimeOf(*line)) {
        fmt::print("  '{}' is no time: 2 s; or never, or none; or an empty line\n",
                   OneLine(*line));
        continue;
      }
      const sweep::Reading reading =
          ReadingOf(*line, readout, question.question, question.page);
      if (!is_timed && !IsRead(reading, readout)) continue;
      problem = kept_.Keep(reading);
      return problem.empty();
    }
  }
  static bool IsRead(const sweep::Reading& reading, const profile::Readout& readout) {
    const auto why = sweep::WhyNotRead(reading, readout);
    if (why) fmt::print("  {}; {}\n", OneLine(why->what), OneLine(why->remedy));
    return !why;
  }

  const profile::Bench& bench_;
  EchoScreen& screen_;
  KeptReadings& kept_;
  Keyboard keyboard_;
};

}  // namespace

std::string AskPerson(const profile::Bench& bench, const std::vector<profile::Readout>& readouts,
                      EchoScreen& screen, KeptReadings& kept) {
  Asking asking(bench, screen, kept);
  if (kept.readings().empty() && std::ranges::any_of(readouts, Remembers)) {
    fmt::print("Switch the display off and on before you begin: it keeps or latches something.\n");
  }
  std::vector<sweep::Question> questions = sweep::QuestionsOf(readouts);
  const auto manners = sweep::MannerQuestionsOf(bench, readouts);
  questions.insert(questions.end(), manners.begin(), manners.end());
  for (const sweep::Question& question : questions) {
    if (!asking.Ask(question)) break;
  }
  return asking.problem;
}

}  // namespace drycrank::tools
