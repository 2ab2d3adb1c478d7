// SPDX-License-Identifier: Apache-2.0
#include "run/output_rate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <variant>
#include <vector>

#include "output/ability.h"
#include "run/output_wishes.h"

namespace drycrank::run {
namespace {

constexpr int kEngineSpeed = 0;
// A request and its answer: C0, identifier, 8 bytes, CRC, C0 each; 10 bits of a byte on a serial line, 8N1.
constexpr double kBitsARequest = 2 * (1 + 2 + 8 + 2 + 1) * 10;
constexpr int kSpeedEntries = 3;   // to a speed at once, its climb, its target
constexpr double kShare = 0.5;     // of the line
constexpr int kEntriesAChange = 1;

bool IsOn(const profile::OutputDevice& device, const std::string& name) {
  return std::ranges::any_of(ChannelsOf(device), [&](const profile::OutputChannel* channel) {
    return channel->name == name;
  });
}

std::string InMs(double seconds) { return fmt::format("{:.3g} ms", seconds * 1e3); }

// The shorter of what it is there and what it is away; nothing comes sooner after the other.
double ShortestOf(const profile::Fault& fault) {
  double shortest_s = fault.from_s && fault.to_s ? *fault.to_s - *fault.from_s : HUGE_VAL;
  if (fault.every_s && fault.for_s) {
    shortest_s = std::min({shortest_s, *fault.for_s, *fault.every_s - *fault.for_s});
  }
  return shortest_s;
}

struct Line {
  double request_s = 0;
  const std::string& why;

  double LeastS(int entries) const { return entries * request_s / kShare; }
  void Refuse(const Place& place, const std::string& what, double least_s, Diagnostics& problems) const {
    problems.push_back({place,
                        fmt::format("{}, and the line needs {} for an entry, {}", what, InMs(request_s), why),
                        fmt::format("leave {} or more from one change to the next, or take a faster line",
                                    InMs(least_s))});
  }
};

void CheckFault(const profile::Fault& fault, const Line& line, Diagnostics& problems) {
  const double shortest_s = ShortestOf(fault), least_s = line.LeastS(kEntriesAChange);
  if (shortest_s >= least_s) return;
  line.Refuse(fault.place, fmt::format("fault '{}' changes after {}", fault.name, InMs(shortest_s)), least_s,
              problems);
}

void CheckDrive(const profile::Drive& drive, const Line& line, Diagnostics& problems) {
  const double least_s = line.LeastS(kSpeedEntries);
  for (std::size_t i = 1; i < drive.points.size(); ++i) {
    const double apart_s = drive.points[i].first - drive.points[i - 1].first;
    if (apart_s >= least_s) continue;
    return line.Refuse(drive.place, fmt::format("points of engine_speed are {} apart", InMs(apart_s)),
                       least_s, problems);
  }
}

// Each may be slow enough, and all of them not.
void CheckAll(const std::vector<const profile::Fault*>& faults, const Line& line, Diagnostics& problems) {
  double changes_hz = 0;
  const profile::Fault* fastest = nullptr;
  for (const profile::Fault* fault : faults) {
    if (!fault->every_s) continue;
    changes_hz += 2 / *fault->every_s;
    if (fastest == nullptr || *fault->every_s < *fastest->every_s) fastest = fault;
  }
  const double most_hz = kShare / (kEntriesAChange * line.request_s);
  if (fastest == nullptr || changes_hz <= most_hz) return;
  problems.push_back({fastest->place,
                      fmt::format("faults that come and go change {:.0f} times a second in all, and the line "
                                  "carries {:.0f}, {}",
                                  changes_hz, most_hz, line.why),
                      fmt::format("the fastest is '{}': let it come more seldom, or take a faster line",
                                  fastest->name)});
}

}  // namespace

TimeNs RequestNsOf(const profile::OutputDevice& device) {
  const auto* core = std::get_if<profile::out::Core>(&device.kind);
  return core != nullptr ? FromSeconds(kBitsARequest / core->baud) : 0;
}

Diagnostics RateProblems(const profile::Scenario& scenario, const profile::OutputDevice& device,
                         TimeNs request_ns, const std::string& why) {
  Diagnostics problems;
  if (request_ns <= 0) return problems;
  const Line line{ToSeconds(request_ns), why};
  std::vector<const profile::Fault*> faults;
  for (const profile::Fault& fault : scenario.faults) {
    if (IsOn(device, fault.at)) faults.push_back(&fault);
  }
  for (const profile::Fault* fault : faults) CheckFault(*fault, line, problems);
  if (problems.empty()) CheckAll(faults, line, problems);
  for (const profile::Step& step : scenario.steps) {
    for (const profile::Drive& drive : step.drives) {
      if (drive.stimulus == kEngineSpeed) CheckDrive(drive, line, problems);
    }
  }
  return problems;
}

Diagnostics RateProblems(const profile::Scenario& scenario, const profile::OutputDevice& device) {
  const auto* core = std::get_if<profile::out::Core>(&device.kind);
  if (core == nullptr) return {};
  return RateProblems(scenario, device, RequestNsOf(device), fmt::format("at {} baud", core->baud));
}

std::size_t RoomOf(const profile::Bench& bench, const profile::Scenario& scenario,
                   const profile::OutputDevice& device) {
  const double samples_hz = bench.controller ? 1000 / bench.controller->sample_ms : 100;
  double states = 4096;
  for (const output::Wish& wish : WishesOf(bench, scenario, device)) {
    double hz = samples_hz;
    for (const output::Wish::Span& span : wish.forms) hz = std::max(hz, span.rate_hz);
    states += hz;
  }
  return static_cast<std::size_t>(states);
}

}  // namespace drycrank::run
