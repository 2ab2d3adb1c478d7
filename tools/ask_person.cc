// SPDX-License-Identifier: Apache-2.0
#include "tools/ask_person.h"

#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <cstdio>
#include <string>

#include "tools/commands.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

constexpr TimeNs kSliceNs = 50 * kNsPerMs;

// A line from standard input, the bus kept alive meanwhile.
class Keyboard {
 public:
  explicit Keyboard(EchoScreen& screen) : screen_(screen) {}

  // Nothing: the end of input, or stopped.
  std::optional<std::string> Line() {
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

 private:
  EchoScreen& screen_;
  std::string buffer_;
};

// "113 red": the last word is the lamp, where the display has one of that name.
sweep::Reading ReadingOf(const std::string& line, const profile::Readout& readout, int question,
                         int page) {
  sweep::Reading reading{question, page, readout.name, line, ""};
  const auto space = line.rfind(' ');
  if (!readout.lamp.empty() && space != std::string::npos &&
      line.substr(space + 1) == readout.lamp) {
    reading.text = line.substr(0, space);
    reading.lamp = readout.lamp;
  }
  return reading;
}

}  // namespace

std::vector<sweep::Reading> AskPerson(const profile::Bench& bench,
                                      const std::vector<profile::Readout>& readouts,
                                      EchoScreen& screen) {
  std::vector<sweep::Reading> readings;
  Keyboard keyboard(screen);
  for (const sweep::Question& question : sweep::QuestionsOf(readouts)) {
    sweep::SendQuestion(bench, question, screen);
    fmt::print(
        "Page {}, question {} of {}: what do you read there?\n"
        "  (the number or word as it stands, and the lamp if one is lit: 113 red)\n",
        question.page, question.question, sweep::kQuestions);
    for (const profile::Readout* readout : question.readouts) {
      fmt::print("  {}: ", readout->label);
      std::fflush(stdout);
      const auto line = keyboard.Line();
      if (!line) return readings;
      if (line->empty()) continue;
      readings.push_back(ReadingOf(*line, *readout, question.question, question.page));
    }
  }
  return readings;
}

}  // namespace drycrank::tools
