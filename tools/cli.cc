// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <cstdio>
#include <string>
#include <string_view>
#include <vector>

#include "report/text.h"
#include "study/play.h"
#include "tools/commands.h"
#include "tools/result_files.h"
#include "yaml/nearest.h"

namespace drycrank::tools {

void AddCalibrate(CLI::App& app, int& exit_code);
void AddExplain(CLI::App& app, int& exit_code);
void AddLimits(CLI::App& app, int& exit_code);
void AddMatch(CLI::App& app, int& exit_code);
void AddStandin(CLI::App& app, int& exit_code);

namespace {

struct Renamed {
  std::string_view was, is;
};
constexpr Renamed kRenamed[] = {{"check", "judge"}, {"lint", "proofread"}, {"render", "signals"}};

// "drycrank: lint is now called proofread". Empty: the first word is not the old name of a command.
std::string OldName(int argc, char** argv) {
  for (const auto& [was, is] : kRenamed) {
    if (argc > 1 && was == argv[1]) return fmt::format("drycrank: {} is now called {}", was, is);
  }
  return "";
}

bool IsOfProgram(const std::string& option) {
  return option == "-h" || option == "--help" || option == "--version";
}

// "drycrank: there is no command 'rnu'; did you mean 'run'?" Empty: the parser has the word.
std::string UnknownCommand(const CLI::App& app, int argc, char** argv) {
  const CLI::App* at = &app;
  std::string program = "drycrank";
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    const CLI::App* next = nullptr;
    std::vector<std::string> known;
    for (const CLI::App* command : at->get_subcommands([](const CLI::App*) { return true; })) {
      known.push_back(command->get_name());
      if (command->get_name() == word) next = command;
    }
    if (i == 1 && word.starts_with("-") && !IsOfProgram(word)) {
      return fmt::format("{}: '{}' stands before the command; {} --help lists the commands",
                         program, report::PlainLine(word), program);
    }
    if (known.empty() || word.empty() || word[0] == '-') return "";
    if (next == nullptr) {
      return fmt::format("{}: there is no command '{}'; {}", program, report::PlainLine(word),
                         yaml::Suggest(word, known));
    }
    at = next;
    program += " " + word;
  }
  return "";
}

// "drycrank help display sweep" is "drycrank display sweep --help".
std::vector<char*> HelpAsOption(int argc, char** argv) {
  static char option[] = "--help";
  std::vector<char*> words(argv, argv + argc);
  if (argc < 2 || std::string_view(argv[1]) != "help") return words;
  words.erase(words.begin() + 1);
  words.push_back(option);
  return words;
}

}  // namespace

int Main(int said_count, char** said) {
  std::vector<char*> words = HelpAsOption(said_count, said);
  const int argc = static_cast<int>(words.size());
  words.push_back(nullptr);
  char** argv = words.data();
  CLI::App app{
      "Proves a rewired vehicle's harness, engine controller and display on a bench, without an "
      "engine."};
  app.set_version_flag("--version", std::string("drycrank ") + study::Version());
  app.require_subcommand(1);
  app.footer(
      "Exit codes, the first that is true: 2 bad input, nothing was driven; 1 an expectation or a "
      "circuit\n"
      "failed; 3 an interface or output failed us; 4 something was not shown (a circuit of a walk, "
      "an\n"
      "answer, the rest of a stopped run, no expectation at all); 0 none of these.\n\n"
      "A controller on a bench fires coils, opens injectors, runs pumps, fans and starters and "
      "moves\n"
      "the throttle plate. Read hw-notes/cautions.md before you connect one.");
  int exit_code = kAllMet;
  AddRun(app, exit_code);
  AddJudge(app, exit_code);
  AddProofread(app, exit_code);
  AddMatch(app, exit_code);
  AddLimits(app, exit_code);
  AddSettings(app, exit_code);
  AddMessages(app, exit_code);
  AddSignals(app, exit_code);
  AddConvert(app, exit_code);
  AddDecode(app, exit_code);
  AddDoctor(app, exit_code);
  AddTell(app, exit_code);
  AddWalk(app, exit_code);
  AddSign(app, exit_code);
  AddDiagnose(app, exit_code);
  AddCampaign(app, exit_code);
  AddSchedule(app, exit_code);
  AddDisplay(app, exit_code);
  AddStandin(app, exit_code);
  AddCalibrate(app, exit_code);
  AddCompare(app, exit_code);
  AddExplain(app, exit_code);
  if (argc < 2) {
    fmt::print(stderr, "{}", app.name(argc > 0 ? argv[0] : "drycrank")->help());
    return kBadInput;
  }
  if (const std::string why = WhyNotSaid(argc, argv); !why.empty()) {
    fmt::print(stderr, "drycrank: {}\n", why);
    return kBadInput;
  }
  if (const std::string renamed = OldName(argc, argv); !renamed.empty()) {
    fmt::print(stderr, "{}\n", renamed);
    return kBadInput;
  }
  if (const std::string unknown = UnknownCommand(app, argc, argv); !unknown.empty()) {
    fmt::print(stderr, "{}\n", unknown);
    return kBadInput;
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    return app.exit(e) == 0 ? kAllMet : kBadInput;
  }
  return exit_code;
}

}  // namespace drycrank::tools
