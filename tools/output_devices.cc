// SPDX-License-Identifier: Apache-2.0
#include "tools/output_devices.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <utility>
#include <variant>

#include "output/abilities.h"
#include "profile/output_device.h"
#include "run/output_range.h"
#include "run/output_rate.h"
#include "run/output_wishes.h"
#include "tools/commands.h"
#include "tools/make_output.h"

namespace drycrank::tools {
namespace {

constexpr int kEngineSpeed = 0;

// "edges: ... (bench.yaml:40:3)"
std::string InFile(const profile::OutputDevice& at, const std::string& problem) {
  return fmt::format("{}: {} ({}:{}:{})", at.name, problem, at.place.file, at.place.line, at.place.column);
}

bool HasWheels(const profile::OutputDevice& device) {
  return std::ranges::any_of(ChannelsOf(device), [](const profile::OutputChannel* channel) {
    return channel->of == profile::OutputChannel::Of::kTrigger;
  });
}

// The core says itself which pin stands in whose place.
bool NamesItsChannels(const profile::DeviceKind& kind) {
  return std::holds_alternative<profile::out::Core>(kind);
}

}  // namespace

std::string OutputDevices::Make() {
  for (const profile::OutputDevice& at : bench_.drives) {
    const std::size_t room = run::RoomOf(bench_, scenario_, at);
    Device device{.at = &at, .handover = std::make_unique<output::Handover>(room)};
    MadeOutput made = MakeOutput(bench_, scenario_, at);
    if (!made.problem.empty()) return InFile(at, made.problem);
    device.output = std::move(made.output);
    device.feed = std::make_unique<run::OutputFeed>(bench_, scenario_, at, *device.handover);
    devices_.push_back(std::move(device));
  }
  return "";
}

std::string OutputDevices::Open() {
  std::string problem = devices_.empty() ? Make() : "";
  for (Device& device : devices_) {
    if (problem.empty() && StopAsked()) problem = WhyStopped();
    if (!problem.empty()) return problem;
    problem = device.output->Open();
    if (!problem.empty()) problem = InFile(*device.at, problem) + "; nothing was driven";
  }
  return problem;
}

Diagnostics OutputDevices::Unreached() const {
  Diagnostics problems;
  for (const Device& device : devices_) {
    Diagnostics more = run::RangeProblems(bench_, scenario_, *device.at, *device.output);
    std::ranges::move(more, std::back_inserter(problems));
    more = run::RateProblems(scenario_, *device.at, device.output->RequestNs(), "as it answers");
    std::ranges::move(more, std::back_inserter(problems));
  }
  return problems;
}

std::vector<bus::Driven> OutputDevices::Drives() const {
  std::vector<bus::Driven> driven;
  for (const Device& device : devices_) {
    driven.push_back({.index = 0,
                      .name = device.at->name,
                      .kind = std::string(output::AbilityOf(device.at->kind).kind),
                      .way = device.output->Description()});
    if (!NamesItsChannels(device.at->kind)) {
      driven.back().way += fmt::format(
          ", in the place of {}",
          fmt::join(run::ChannelsInWords(bench_, scenario_, *device.at, *device.output), "; "));
    }
    if (!HasWheels(*device.at)) continue;
    driven.back().way += fmt::format("; the engine turns up to {:.0f} r/min",
                                     run::DrivenBetween(bench_, scenario_, kEngineSpeed).second);
  }
  return driven;
}

std::string OutputDevices::Begin(bool armed) {
  for (Device& device : devices_) {
    if (armed) {
      if (std::string problem = device.output->Arm(); !problem.empty()) {
        const std::string unsafe = Stop();
        return InFile(*device.at, problem) + "; " + (unsafe.empty() ? "nothing is driven" : unsafe);
      }
    }
    device.thread = std::make_unique<io::OutputThread>(*device.output, *device.handover);
  }
  return "";
}

std::string OutputDevices::Stop() {
  for (Device& device : devices_) {
    if (device.thread) device.thread->AskToStop();
  }
  for (Device& device : devices_) {
    if (device.thread) device.thread->Stop();
  }
  return failure();
}

std::string OutputDevices::ArmNow(TimeNs now_ns) {
  (void)Stop();  // none of them is armed: what is fed to them has no effect
  if (std::string problem = Begin(true); !problem.empty()) {
    GoOn(now_ns);
    return problem;
  }
  for (Device& device : devices_) {
    device.thread->StartClock(now_ns);
    device.feed->GiveAnew(now_ns);
  }
  return "";
}

std::string OutputDevices::DisarmNow(TimeNs now_ns) {
  std::string problem = Stop();
  if (problem.empty()) GoOn(now_ns);
  return problem;
}

// Fed, not armed.
void OutputDevices::GoOn(TimeNs now_ns) {
  for (Device& device : devices_) {
    device.thread = std::make_unique<io::OutputThread>(*device.output, *device.handover);
    device.thread->StartClock(now_ns);
  }
}

Diagnostics OutputDevices::WhyNot(const profile::Scenario& scenario) const {
  Diagnostics problems = run::OutputProblems(bench_, scenario);
  for (const Device& device : devices_) {
    if (!problems.empty()) break;
    problems = run::RangeProblems(bench_, scenario, *device.at, *device.output);
  }
  return problems;
}

void OutputDevices::TellReports(TimeNs t_ns) const {
  if (!tell_) return;
  for (const Device& device : devices_) {
    const std::string report = device.output->Report();
    if (!report.empty()) tell_(device.at->name + ": " + report, t_ns);
    const std::uint64_t late = device.thread ? device.thread->overtaken() : 0;
    if (late > 0) {
      tell_(fmt::format("{}: {} states were not given, as the next was due already", device.at->name, late),
            t_ns);
    }
  }
}

std::string OutputDevices::failure() const {
  for (const Device& device : devices_) {
    if (device.thread && device.thread->has_failed()) return device.thread->failure();
  }
  return "";
}

void OutputDevices::OnClockStart(TimeNs /*origin_ns*/) {
  for (Device& device : devices_) device.thread->StartClock();
}
void OutputDevices::OnStep(std::size_t step, TimeNs t_ns) {
  for (Device& device : devices_) device.feed->OnStep(step, t_ns);
}
void OutputDevices::OnFault(const std::string& name, bool in_force, TimeNs t_ns) {
  for (Device& device : devices_) device.feed->OnFault(name, in_force, t_ns);
}
void OutputDevices::OnMotion(const CrankMotion& motion) {
  for (Device& device : devices_) device.feed->OnMotion(motion);
}
void OutputDevices::OnEmf(int trigger, const Wave& emf) {
  for (Device& device : devices_) device.feed->OnEmf(trigger, emf);
}
void OutputDevices::OnAdvance(int trigger, double deg, TimeNs t_ns) {
  for (Device& device : devices_) device.feed->OnAdvance(trigger, deg, t_ns);
}
void OutputDevices::OnSample(TimeNs t_ns) {
  for (Device& device : devices_) {
    device.thread->Alive();
    device.feed->OnSample(t_ns);
  }
}
void OutputDevices::OnDrive(int stimulus, double value, double over_s, TimeNs t_ns) {
  for (Device& device : devices_) device.feed->OnDrive(stimulus, value, over_s, t_ns);
}
void OutputDevices::OnCrank(double rpm, TimeNs t_ns) {
  for (Device& device : devices_) device.feed->OnCrank(rpm, t_ns);
}
void OutputDevices::OnEnd(const std::string& /*why*/, TimeNs t_ns) {
  (void)Stop();
  TellReports(t_ns);
}

}  // namespace drycrank::tools
