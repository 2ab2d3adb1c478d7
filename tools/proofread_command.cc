// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "proofread/proofread.h"
#include "tools/commands.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

// "10 ms: its next value comes", or the gauge that would go stale.
std::string Limit(const profile::Bench& bench, const bus::MessageTiming& timing) {
  if (!timing.is_counted) return "not counted: no file says how often it comes";
  if (timing.gauge < 0) return fmt::format("{:g} ms: its next value comes", ToMs(timing.limit_ns));
  const profile::Gauge& gauge = Nth(bench.display->gauges, timing.gauge);
  return fmt::format("{:g} ms: gauge {} goes stale", ToMs(timing.limit_ns), gauge.name);
}

void PrintMessage(const profile::Bench& bench, const profile::Message& message,
                  const bus::MessageTiming& timing, int name_width) {
  fmt::print("  {} {:<{}}  {:>10}  {:>7}  {:>7.3f} ms  {:>9}  {}\n", timing.misses() ? "✗" : " ",
             message.name, name_width, fmt::format("0x{:X}", message.id),
             message.period_ms > 0 ? fmt::format("{:g} ms", message.period_ms) : "event",
             ToMs(timing.longest_ns),
             timing.response_ns  ? fmt::format("{:.3f} ms", ToMs(*timing.response_ns))
             : timing.is_counted ? "no end"
                                 : "-",
             Limit(bench, timing));
}

void PrintBus(const profile::Bench& bench, const profile::Bus& bus, const bus::BusTiming& timing) {
  fmt::print(
      "bus {}, {:g} kbit/s: {:.1f} % of its time used without stuff bits, {:.1f} % with the most\n",
      bus.name, bus.bitrate_bps / 1e3, timing.least_load * 100, timing.load * 100);
  std::size_t width = 7;
  for (const profile::Message& message : bus.messages) width = std::max(width, message.name.size());
  const int name_width = static_cast<int>(width);
  fmt::print("    {:<{}}  {:>10}  {:>7}  {:>10}  {:>9}  {}\n", "message", name_width, "id", "every",
             "on wire", "at worst", "must be sent within");
  for (const bus::MessageTiming& m : timing.messages) {
    PrintMessage(bench, Nth(bus.messages, m.message), m, name_width);
  }
}

// What nobody should take for agreement.
void PrintNotCompared(const Diagnostics& list) {
  for (const Diagnostic& open : list) fmt::print("not compared: {}\n", Format(open));
}

int Proofread(const std::vector<std::string>& files) {
  std::size_t problems = 0;
  for (const std::string& file : files) {
    const proofread::Proof proof = proofread::ProofreadFile(file);
    for (std::size_t b = 0; b < proof.timing.size(); ++b) {
      PrintBus(*proof.bench, proof.bench->buses[b], proof.timing[b]);
    }
    for (const std::string& fact : proof.facts) fmt::print("{}: {}\n", file, fact);
    PrintNotCompared(proof.not_compared);
    std::fflush(stdout);  // the table comes before the problems in it
    PrintProblems(proof.problems);
    problems += proof.problems.size();
    if (proof.problems.empty()) fmt::print("{}: in order\n", file);
  }
  if (problems > 0) fmt::print(stderr, "{} problem{} found\n", problems, problems == 1 ? "" : "s");
  return problems == 0 ? kAllMet : kBadInput;
}

}  // namespace

void AddProofread(CLI::App& app, int& exit_code) {
  auto files = std::make_shared<std::vector<std::string>>();
  CLI::App* command = app.add_subcommand(
      "proofread", "Compare bench and scenario files with each other; run nothing");
  command->add_option("files", *files, "Bench and scenario files")
      ->required()
      ->type_name("FILE...");
  command->footer(
      "What has been set in the controller and the display against what is built: strokes, firing\n"
      "order, ignition advance, trigger wheels with offset and edge, tables against the sensors'\n"
      "laws as wired, layouts of messages. What to set instead: drycrank settings.\n"
      "Which wheels cannot be told apart, and up to which speed ripple the teeth are while "
      "cranking.\n"
      "For each bus of a bench: its load, and for each message the longest time from due to sent\n"
      "when everything more urgent goes first (Davis, Burns, Bril, Lukkien 2007). A message that\n"
      "would come too late is a problem, and so is a gauge that would go stale.\n"
      "The wires themselves: drycrank schedule check. A record: drycrank judge.\n\n"
      "Example:\n  drycrank proofread profiles/benches/*.yaml profiles/scenarios/*/*.yaml");
  command->callback([files, &exit_code] { exit_code = Proofread(*files); });
}

}  // namespace drycrank::tools
