// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "bus/bus_timing.h"
#include "profile/load.h"
#include "run/replay.h"
#include "tools/commands.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

// "before its next value" or the gauge that would go stale.
std::string Limit(const profile::Bench& bench, const bus::MessageTiming& timing) {
  if (timing.gauge < 0) return fmt::format("{:g} ms: its next value is due", ToMs(timing.limit_ns));
  const profile::Gauge& gauge = Nth(bench.display->gauges, timing.gauge);
  return fmt::format("{:g} ms: gauge {} goes stale", ToMs(timing.limit_ns), gauge.name);
}

void PrintMessage(const profile::Bench& bench, const profile::Message& message,
                  const bus::MessageTiming& timing, int name_width) {
  fmt::print("  {} {:<{}}  {:>10}  {:>7}  {:>7.3f} ms  {:>9}  {}\n", timing.misses() ? "✗" : " ",
             message.name, name_width, fmt::format("0x{:X}", message.id),
             message.period_ms > 0 ? fmt::format("{:g} ms", message.period_ms) : "event",
             ToMs(timing.longest_ns),
             timing.response_ns ? fmt::format("{:.3f} ms", ToMs(*timing.response_ns)) : "no end",
             Limit(bench, timing));
}

void PrintBus(const profile::Bench& bench, const profile::Bus& bus, const bus::BusTiming& timing) {
  fmt::print("bus {}, {:g} kbit/s: {:.1f} to {:.1f} % of its time taken, by how much is stuffed\n",
             bus.name, bus.bitrate_bps / 1e3, timing.least_load * 100, timing.load * 100);
  std::size_t width = 7;
  for (const profile::Message& message : bus.messages) width = std::max(width, message.name.size());
  const int name_width = static_cast<int>(width);
  fmt::print("    {:<{}}  {:>10}  {:>7}  {:>10}  {:>9}  {}\n", "message", name_width, "id", "each",
             "on wire", "at worst", "must be out within");
  for (const bus::MessageTiming& m : timing.messages) {
    PrintMessage(bench, Nth(bus.messages, m.message), m, name_width);
  }
}

// What the buses of the bench have to carry, and what they will not.
Diagnostics LintBuses(const profile::Bench& bench) {
  const std::vector<bus::BusTiming> timing = bus::TimingOf(bench);
  for (std::size_t b = 0; b < timing.size(); ++b) PrintBus(bench, bench.buses[b], timing[b]);
  return bus::TimingProblems(bench, timing);
}

Diagnostics LintFile(const std::string& file) {
  if (profile::KindOfFile(file) == "scenario") {
    const profile::LoadedScenario scenario = profile::LoadScenario(file);
    if (!scenario.scenario) return scenario.problems;
    return run::ReplayProblems(*scenario.bench, *scenario.scenario);
  }
  const profile::LoadedBench loaded = profile::LoadBench(file);
  return loaded.problems.empty() && loaded.bench ? LintBuses(*loaded.bench) : loaded.problems;
}

int Lint(const std::vector<std::string>& files) {
  std::size_t problems = 0;
  for (const std::string& file : files) {
    const Diagnostics found = LintFile(file);
    std::fflush(stdout);  // the table comes before what is said about it
    PrintProblems(found);
    problems += found.size();
    if (found.empty()) fmt::print("{}: in order\n", file);
  }
  if (problems > 0) fmt::print(stderr, "{} problem{} found\n", problems, problems == 1 ? "" : "s");
  return problems == 0 ? kAllMet : kBadInput;
}

}  // namespace

void AddLint(CLI::App& app, int& exit_code) {
  auto files = std::make_shared<std::vector<std::string>>();
  CLI::App* command = app.add_subcommand(
      "lint", "Check profile files, and what the buses have to carry; run nothing");
  command->add_option("files", *files, "Bench and scenario files")
      ->required()
      ->type_name("FILE...");
  command->footer(
      "For each bus of a bench: load, and per message how long it may take at worst from being "
      "due\n"
      "until it is out, with everything that may go before it (Davis, Burns, Bril, Lukkien 2007).\n"
      "A message that would come too late is a problem, and a gauge that would go stale.\n\n"
      "Example:\n  drycrank lint profiles/benches/*.yaml profiles/scenarios/*/*.yaml");
  command->callback([files, &exit_code] { exit_code = Lint(*files); });
}

}  // namespace drycrank::tools
