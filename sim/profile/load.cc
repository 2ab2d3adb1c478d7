// SPDX-License-Identifier: Apache-2.0
#include "profile/load.h"

#include <fmt/format.h>

#include <charconv>
#include <filesystem>
#include <system_error>

#include "profile/load_bench.h"
#include "profile/load_scenario.h"
#include "types/format_number.h"
#include "types/limits.h"
#include "yaml/include.h"
#include "yaml/parse.h"
#include "yaml/utf8.h"

namespace drycrank::profile {
namespace {

// False, and said, when the file has a format that is not read here: the rest of it may mean
// something else.
bool IsReadFormat(Problems& problems, const Node& root, int known) {
  const Node* node = root.Find("format");
  if (node == nullptr) return true;
  std::int64_t format = 0;
  const char* const end = node->text.data() + node->text.size();
  const auto read = std::from_chars(node->text.data(), end, format);
  if (node->kind != NodeKind::kScalar || read.ec != std::errc() || read.ptr != end) {
    problems.Add(node->Where(), "the file's format is not a whole number",
                 fmt::format("write 'format: {}'", known));
    return false;
  }
  const std::string why = WhyNotRead(format, known);
  if (why.empty()) return true;
  problems.Add(node->Where(), why,
               format > known
                   ? fmt::format("use a newer drycrank, or write the file in format {}", known)
                   : fmt::format("write 'format: {}'", known));
  return false;
}

// The file's mapping, when it is of the wanted kind and in a format that is read here.
std::optional<Node> ReadKind(yaml::Files& files, Problems& problems, const std::string& path,
                             const Place& named_at, const std::string& kind, int known_format) {
  auto root = files.ReadProfile(path, named_at);
  if (!root) return std::nullopt;
  const Node* said = root->Find("kind");
  if (said != nullptr && said->text == kind) {
    if (IsReadFormat(problems, *root, known_format)) return root;
    return std::nullopt;
  }
  if (said == nullptr) {
    problems.Add(root->Where(), "the file has no 'kind'", fmt::format("add 'kind: {}'", kind));
  } else {
    problems.Add(said->Where(), fmt::format("the file's kind is '{}'", said->text),
                 fmt::format("a {} is wanted here: 'kind: {}'", kind, kind));
  }
  return std::nullopt;
}

std::optional<Bench> ReadBench(yaml::Files& files, Problems& problems, const std::string& path,
                               const Place& named_at, bool wires_as_drawn = false) {
  const std::size_t before = problems.size();
  const auto root = ReadKind(files, problems, path, named_at, "bench", kBenchFormat);
  if (!root) return std::nullopt;
  Bench bench;
  bench.file = path;
  LoadBenchTree(problems, *root, bench, wires_as_drawn);
  // A bench with problems still serves to read a scenario; `problems` says that it must not be
  // played.
  problems.set_quiet_references(problems.size() > before);
  return bench;
}

std::string Normal(const std::string& path) {
  return std::filesystem::path(path).lexically_normal().string();
}

// The bench that a scenario names, or an empty one: its other problems are worth saying all the
// same.
Bench BenchOf(yaml::Files& files, Problems& problems, const Node& root, Scenario& scenario) {
  Reader r(problems, root, "the scenario");
  r.PassOverOtherKeys();
  r.Require("bench", "bench: ../../benches/hill_climb.yaml");
  const auto ref = r.GetRef("bench");
  std::optional<Bench> bench;
  if (ref) {
    scenario.bench_file = yaml::PathBeside(ref->place.file, ref->text);
    bench = ReadBench(files, problems, scenario.bench_file, ref->place);
  }
  if (!bench) problems.set_quiet_references(true);
  return bench.value_or(Bench());
}

LoadedBench LoadBenchFile(const std::string& path, bool wires_as_drawn) {
  Problems problems;
  yaml::Files files(problems);
  LoadedBench loaded;
  auto bench = ReadBench(files, problems, Normal(path), {path, 0, 0}, wires_as_drawn);
  loaded.files = files.names();
  loaded.problems = problems.Sorted(loaded.files);
  if (loaded.problems.empty()) loaded.bench = std::move(bench);
  return loaded;
}

}  // namespace

LoadedBench LoadBench(const std::string& path) { return LoadBenchFile(path, false); }

LoadedBench LoadBenchAsDrawn(const std::string& path) { return LoadBenchFile(path, true); }

LoadedBuses LoadBusesOf(const std::string& path) {
  if (!KindOfFile(path).empty()) {
    LoadedBench loaded = LoadBench(path);
    if (!loaded.bench) return {{}, std::move(loaded.problems)};
    return {std::move(loaded.bench->buses), {}};
  }
  Problems problems;
  yaml::Files files(problems);
  LoadedBuses loaded;
  if (const auto root = files.ReadProfile(Normal(path), {path, 0, 0})) {
    const std::string stem = std::filesystem::path(path).stem().string();
    Node buses;
    buses.kind = NodeKind::kMap;
    buses.spot = root->spot;
    buses.entries.push_back({IsName(stem) ? stem : "bus", root->spot, *root});
    Bench bench;
    BenchContext c{problems, bench, {}};
    LoadBuses(c, &buses);
    if (problems.empty()) loaded.buses = std::move(bench.buses);
  }
  loaded.problems = problems.Sorted(files.names());
  return loaded;
}

LoadedScenario LoadScenario(const std::string& path) {
  Problems problems;
  yaml::Files files(problems);
  LoadedScenario loaded;
  const auto root =
      ReadKind(files, problems, Normal(path), {path, 0, 0}, "scenario", kScenarioFormat);
  if (root) {
    Scenario scenario;
    scenario.file = Normal(path);
    Bench bench = BenchOf(files, problems, *root, scenario);
    ScenarioContext c{problems, files, bench, scenario};
    LoadScenarioTree(c, *root);
    if (problems.empty()) {
      loaded.scenario = std::move(scenario);
      loaded.bench = std::move(bench);
    }
  }
  loaded.files = files.names();
  loaded.problems = problems.Sorted(loaded.files);
  return loaded;
}

std::string KindOfFile(const std::string& path) {
  Problems unused;
  yaml::Files files(unused);
  const auto root = files.ReadProfile(Normal(path), {});
  const Node* kind = root ? root->Find("kind") : nullptr;
  if (kind == nullptr || (kind->text != "bench" && kind->text != "scenario")) return {};
  return kind->text;
}

ParsedValue ParseStimulusValue(const Stimulus& stimulus, const std::string& text) {
  const yaml::NumberResult result = ParseNumber(text, {stimulus.unit, stimulus.min, stimulus.max});
  if (result.value) return {result.value, {}};
  return {std::nullopt, fmt::format("{} {}; {}", stimulus.name, result.what, result.remedy)};
}

ParsedFault ParseFault(const Bench& bench, const std::string& yaml) {
  Problems problems;
  const std::string file = "fault";
  ParsedFault parsed;
  if (yaml.size() > kMaxTextLength || yaml::FindNotText(yaml)) {
    parsed.problems.push_back(
        {{file, 1, 1}, "the fault is too long, or not text", "as {kind: open, at: CLT.1}"});
    return parsed;
  }
  if (const auto node = yaml::ParseYaml(yaml, file, problems)) {
    Fault fault = LoadFault(problems, bench, nullptr, *node);
    if (problems.empty()) parsed.fault = std::move(fault);
  }
  parsed.problems = problems.Sorted({file});
  return parsed;
}

}  // namespace drycrank::profile
