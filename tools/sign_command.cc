// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>

#include "report/text.h"
#include "tools/commands.h"
#include "tools/signatures.h"
#include "types/json_text.h"
#include "types/plain_text.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string folder, circuit, why, by;
  bool revoke = false;
};

int Fail(const std::string& problem) {
  fmt::print(stderr, "drycrank sign: {}\n", problem);
  return kBadInput;
}

// What the walk's report says of the circuit; its name is unknown to a report without it.
std::string WhyNotSigned(const nlohmann::json& report, const Options& options) {
  if (TextIn(report, "format") != "drycrank report") {
    return options.folder + " holds no report.json of a walk (walk with --out, and without --json)";
  }
  if (!TextIn(report, "again").starts_with("drycrank walk")) {
    return options.folder + " is of a run: only what a walk has not shown is signed over";
  }
  std::vector<std::string> open;
  const auto circuits = report.find("circuits");
  for (const auto& circuit : circuits == report.end() ? nlohmann::json() : *circuits) {
    const std::string state = TextIn(circuit, "state"), name = TextIn(circuit, "name");
    const bool can_be = state == "not_shown" || state == "signed";
    if (can_be) open.push_back(name);
    if (name != options.circuit) continue;
    if (can_be) return "";
    if (state == "failed") return name + " has failed: repair it and walk again";
    return fmt::format("{} is {}: there is nothing to sign over", name, state);
  }
  return fmt::format("there is no circuit '{}' in that walk; not shown: {}", options.circuit,
                     open.empty() ? "none" : report::Join(open));
}

std::string WhyNotRevoked(const Options& options) {
  const LoadedSignatures kept = LoadSignatures(options.folder);
  if (!kept.problem.empty()) return kept.problem;
  const bool is_signed = std::ranges::any_of(
      kept.signatures, [&](const Signature& s) { return s.circuit == options.circuit; });
  return is_signed ? "" : options.circuit + " is not signed over: there is nothing to take back";
}

bool IsBlank(const std::string& text) {
  return text.find_first_not_of(" \t\r\n") == std::string::npos;
}

int Sign(const Options& options) {
  if (IsBlank(options.by)) return Fail("--by is blank: the name of the person who answers for it");
  if (!options.revoke && IsBlank(options.why)) {
    return Fail("--why is missing: what was looked at or measured, and with what result");
  }
  std::ifstream file(options.folder + "/report.json");
  const auto report = nlohmann::json::parse(file, nullptr, false);
  if (const std::string why = WhyNotSigned(report, options); !why.empty()) return Fail(why);
  if (options.revoke) {
    if (const std::string why = WhyNotRevoked(options); !why.empty()) return Fail(why);
  }
  const std::string problem =
      KeepSignature(options.folder, {options.circuit, options.why, options.by, options.revoke});
  if (!problem.empty()) return Fail(problem);
  fmt::print("{} {} by {}.\nMake the pages anew: {} --out {} --resume\n", options.circuit,
             options.revoke ? "signature revoked" : "signed over", options.by,
             TextIn(report, "again"), options.folder);
  return kAllMet;
}

}  // namespace

void AddSign(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "sign", "Answer by name for a circuit that a walk has not shown, or take that back");
  command->add_option("folder", options->folder, "Folder of the walk (its --out)")
      ->required()
      ->type_name("DIR");
  command->add_option("--circuit", options->circuit, "Which one")->required()->type_name("NAME");
  command->add_option("--why", options->why, "What was measured, and with what result")
      ->type_name("TEXT");
  command->add_option("--by", options->by, "Who answers for it")->required()->type_name("NAME");
  command->add_flag("--revoke", options->revoke, "Take the signature back");
  command->footer(
      "Kept in DIR/signatures, shown on page, sheet and terminal. A failed circuit is not signed "
      "over.\n\n"
      "Example:\n"
      "  drycrank sign out/walk --circuit ground_2 --by \"A. Fitter\" \\\n"
      "      --why \"rung out with the meter, 0.2 ohm\"");
  command->callback([options, &exit_code] {
    for (std::string* text : {&options->circuit, &options->why, &options->by}) {
      *text = OneLine(*text);
    }
    exit_code = Sign(*options);
  });
}

}  // namespace drycrank::tools
