// SPDX-License-Identifier: Apache-2.0
//
// How late cyclic frames leave, beside the least that this machine can do. Two loops take turns on
// the multicast bus, with the same scheduling and the same deadlines:
//
//   bare  waits for each deadline with an absolute clock_nanosleep and sends a ready-made frame
//   ours  a whole bench in real time: crank and cam, harness, controller and display stand-ins,
//         checker, record on disk
//
// Wanted: the lateness that 99.9 % of the frames do not pass is at most 1.2 times the bare loop's.
// And by hand, for the drift: cyclic_lateness_bench SECONDS, as 300.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <vector>

#include "bus/lateness.h"
#include "io/multicast_bus.h"
#include "io/real_clock.h"
#include "io/real_time.h"
#include "profile/load.h"
#include "study/play.h"

namespace drycrank {
namespace {

constexpr std::uint16_t kPort = 43911;

class DueInstants : public run::RunObserver {
 public:
  void OnFrame(const bus::TimedFrame& frame) override { due_ns.push_back(frame.t_ns); }
  std::vector<TimeNs> due_ns;
};

// A bus that notes when each frame was handed to it, and hands it on.
class Noting : public bus::CanBus {
 public:
  Noting(bus::CanBus& bus, Clock& clock) : bus_(bus), clock_(clock) { sent_ns.reserve(1 << 20); }
  std::string Description() const override { return bus_.Description(); }
  bool IsVirtual() const override { return true; }
  bool Send(const bus::Frame& frame) override {
    sent_ns.push_back(clock_.Now());
    return bus_.Send(frame);
  }
  std::optional<bus::TimedFrame> Receive() override { return bus_.Receive(); }
  std::optional<bus::BusEvent> NextEvent() override { return bus_.NextEvent(); }
  int FileDescriptor() const override { return bus_.FileDescriptor(); }
  const bus::BusCounters& counters() const override { return bus_.counters(); }
  std::vector<TimeNs> sent_ns;

 private:
  bus::CanBus& bus_;
  Clock& clock_;
};

struct Loop {
  bus::Lateness late;
  double drift_ppm = 0;
};

// Slope of the lateness over the run, by least squares.
double DriftPpm(const std::vector<TimeNs>& due_ns, const std::vector<TimeNs>& sent_ns) {
  double t = 0, late = 0, tt = 0, tl = 0;
  const std::size_t n = std::min(due_ns.size(), sent_ns.size());
  for (std::size_t i = 0; i < n; ++i) {
    const double x = static_cast<double>(due_ns[i]) * 1e-9;
    const double y = static_cast<double>(sent_ns[i] - due_ns[i]) * 1e-9;
    t += x, late += y, tt += x * x, tl += x * y;
  }
  const double count = static_cast<double>(n);
  return (count * tl - t * late) / (count * tt - t * t) * 1e6;
}

void Take(Loop& loop, const std::vector<TimeNs>& due_ns, const std::vector<TimeNs>& sent_ns) {
  for (std::size_t i = 0; i < std::min(due_ns.size(), sent_ns.size()); ++i) {
    loop.late.Add(sent_ns[i] - due_ns[i]);
  }
  loop.drift_ppm = DriftPpm(due_ns, sent_ns);
}

// Everything `ours` is made of; without an interface and in virtual time: only the deadlines.
std::vector<TimeNs> Ours(const profile::LoadedScenario& loaded, double seconds, bool for_real,
                         Loop* loop) {
  profile::Scenario scenario = *loaded.scenario;
  scenario.steps.resize(1);
  scenario.steps[0].for_s = seconds;
  scenario.steps[0].wait_for.reset();
  io::RealClock clock;
  io::MulticastBus bus(clock, 0, io::kDefaultGroup, kPort);
  Noting noting(bus, clock);
  DueInstants due;
  due.due_ns.reserve(1 << 20);
  study::PlayOptions options;
  options.run.interfaces = {&noting};
  options.pictures = false;
  options.observers = {&due};
  options.record_folder = std::filesystem::temp_directory_path() / "drycrank-bench-lateness";
  options.overwrite = true;
  VirtualClock at_once;
  options.clock = for_real ? static_cast<Clock*>(&clock) : &at_once;
  {
    io::RealTime real_time;
    const std::string problem = study::Play(*loaded.bench, scenario, options).problem;
    if (!problem.empty()) {  // without its record it would be another run
      fmt::print("{}\n", problem);
      std::exit(1);
    }
  }
  std::filesystem::remove_all(options.record_folder);
  if (loop != nullptr) Take(*loop, due.due_ns, noting.sent_ns);
  return due.due_ns;
}

void Bare(const std::vector<TimeNs>& due_ns, Loop& loop) {
  io::RealClock clock;
  io::MulticastBus bus(clock, 0, io::kDefaultGroup, kPort);
  bus::Frame frame;
  frame.length = 8;
  std::vector<TimeNs> sent_ns(due_ns.size());
  io::RealTime real_time;
  timespec start{};
  clock_gettime(CLOCK_MONOTONIC, &start);
  const TimeNs start_ns = start.tv_sec * kNsPerS + start.tv_nsec;
  clock.Start();
  const TimeNs offset_ns = clock.Now();
  for (std::size_t i = 0; i < due_ns.size(); ++i) {
    const TimeNs at_ns = start_ns + offset_ns + due_ns[i];
    const timespec at{at_ns / kNsPerS, at_ns % kNsPerS};
    clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, nullptr);
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    sent_ns[i] = now.tv_sec * kNsPerS + now.tv_nsec - start_ns - offset_ns;
    bus.Send(frame);
  }
  Take(loop, due_ns, sent_ns);
}

void Print(const char* name, const Loop& loop) {
  fmt::print(
      "{}  {:>7} frames  late by  50 % {:>6.1f}  99 % {:>6.1f}  99.9 % {:>6.1f}  worst {:>7.1f} us"
      "   drift {:+.3f} ppm\n",
      name, loop.late.count(), static_cast<double>(loop.late.Quantile(0.5)) / 1e3,
      static_cast<double>(loop.late.Quantile(0.99)) / 1e3,
      static_cast<double>(loop.late.Quantile(0.999)) / 1e3,
      static_cast<double>(loop.late.worst_ns()) / 1e3, loop.drift_ppm);
  std::fflush(stdout);
}

int Main(double seconds) {
  profile::LoadedScenario loaded = profile::LoadScenario(std::string(DRYCRANK_PROFILES_DIR) +
                                                         "/scenarios/hill_climb/healthy.yaml");
  if (!loaded.scenario) return 1;
  // The engine runs from the start.
  loaded.bench->stimuli[0].initial = 6000;
  // One long turn is for the drift, short ones in alternation so that both meet the same machine.
  const int turns = seconds > 120 ? 1 : std::max(1, static_cast<int>(seconds / 5));
  const double turn_s = seconds / turns;
  const std::vector<TimeNs> due_ns = Ours(loaded, turn_s, false, nullptr);
  Loop bare, ours;
  for (int i = 0; i < turns; ++i) {
    Bare(due_ns, bare);
    Ours(loaded, turn_s, true, &ours);
  }
  Print("bare", bare);
  Print("ours", ours);
  const double ratio = static_cast<double>(ours.late.Quantile(0.999)) /
                       static_cast<double>(bare.late.Quantile(0.999));
  fmt::print("99.9 %: {:.2f} times the bare loop's (at most 1.2 wanted)\n", ratio);
  return ratio <= 1.2 ? 0 : 1;
}

}  // namespace
}  // namespace drycrank

int main(int argc, char** argv) { return drycrank::Main(argc > 1 ? std::atof(argv[1]) : 20); }
