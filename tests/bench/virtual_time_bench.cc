// SPDX-License-Identifier: Apache-2.0
//
// How much faster than real time a bench runs in virtual time, on one core. "x_real_time" is simulated
// seconds per second of processor time: a ratio, and it must be at least 100 for the hill-climb bench
// with its checker. The program says so itself and exits with 1 when it is not.
#include <benchmark/benchmark.h>

#include <cstdio>
#include <filesystem>
#include <map>
#include <string>

#include "profile/load.h"
#include "study/play.h"
#include "types/clock.h"

namespace drycrank {
namespace {

double g_hill_climb = 0;

const profile::LoadedScenario& Scenario(const std::string& name) {
  static std::map<std::string, profile::LoadedScenario> loaded;
  auto [at, fresh] = loaded.try_emplace(name);
  if (fresh) {
    at->second = profile::LoadScenario(DRYCRANK_PROFILES_DIR "/scenarios/" + name + ".yaml");
  }
  return at->second;
}

// Range(0): 0 checker only, 1 with the record on disk as well.
void PlayScenario(benchmark::State& state, const std::string& name) {
  const profile::LoadedScenario& loaded = Scenario(name);
  if (!loaded.scenario) {
    state.SkipWithError("scenario does not load");
    return;
  }
  const std::string folder = std::filesystem::temp_directory_path() / "drycrank-bench-record";
  double simulated_s = 0;
  std::uint64_t frames = 0;
  for (auto _ : state) {
    VirtualClock clock;
    study::PlayOptions options;
    options.run.seed = loaded.scenario->seed;
    options.clock = &clock;
    options.pictures = false;
    if (state.range(0) == 1) options.record_folder = folder;
    options.overwrite = true;
    const study::PlayResult result = study::Play(*loaded.bench, *loaded.scenario, options);
    simulated_s += ToSeconds(result.report.duration_ns);
    frames += result.frames;
  }
  std::filesystem::remove_all(folder);
  state.counters["x_real_time"] = benchmark::Counter(simulated_s, benchmark::Counter::kIsRate);
  state.counters["frames"] =
      benchmark::Counter(static_cast<double>(frames), benchmark::Counter::kAvgIterations);
}

class Keep : public benchmark::ConsoleReporter {
 public:
  Keep() : ConsoleReporter(OO_None) {}  // no colours: `figures` reads it
  void ReportRuns(const std::vector<Run>& runs) override {
    for (const Run& run : runs) {
      if (run.benchmark_name().starts_with("hill_climb/healthy/0") && !run.error_occurred) {
        g_hill_climb = run.counters.at("x_real_time");
      }
    }
    ConsoleReporter::ReportRuns(runs);
  }
};

}  // namespace
}  // namespace drycrank

int main(int argc, char** argv) {
  using namespace drycrank;
  for (const char* name : {"hill_climb/healthy", "hill_climb/sensor_ground_open", "boat_v8/healthy",
                           "generator/healthy", "kart/healthy"}) {
    benchmark::RegisterBenchmark(name,
                                 [name](benchmark::State& state) { PlayScenario(state, name); })
        ->Arg(0)
        ->Arg(1)
        ->Unit(benchmark::kMillisecond)
        ->MinTime(2.0);
  }
  benchmark::Initialize(&argc, argv);
  Keep keep;
  benchmark::RunSpecifiedBenchmarks(&keep);
  if (g_hill_climb == 0) return 0;  // filtered out
  std::printf("hill-climb bench with checker: %.0f x real time (at least 100 wanted)\n",
              g_hill_climb);
  return g_hill_climb >= 100 ? 0 : 1;
}
