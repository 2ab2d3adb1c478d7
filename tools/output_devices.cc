// SPDX-License-Identifier: Apache-2.0
#include "tools/output_devices.h"

#include <fmt/format.h>

#include <cstdio>
#include <utility>
#include <variant>

#include "io/alsa_port.h"
#include "io/serial_port.h"
#include "output/core_link.h"
#include "output/abilities.h"
#include "output/sound_output.h"
#include "profile/output_device.h"

namespace drycrank::tools {
namespace {

// One for each kind.
std::unique_ptr<output::Output> Make(const profile::Bench& bench, const profile::Scenario& scenario,
                                     const profile::out::Core& core) {
  return std::make_unique<output::CoreLink>(
      std::make_unique<io::SerialPort>(core.line, core.baud), bench, core, scenario.start_deg,
      [](const std::string& text) { fmt::print(stderr, "{}\n", text); });
}

std::unique_ptr<output::Output> Make(const profile::Bench& /*bench*/,
                                     const profile::Scenario& /*scenario*/,
                                     const profile::out::Sound& sound) {
  return std::make_unique<output::SoundOutput>(sound, std::make_unique<io::AlsaPort>(sound.device));
}

}  // namespace

std::string OutputDevices::Open() {
  for (const profile::OutputDevice& at : bench_.drives) {
    Device device{.at = &at, .handover = std::make_unique<output::Handover>()};
    device.output = std::visit([&](const auto& kind) { return Make(bench_, scenario_, kind); }, at.kind);
    if (std::string problem = device.output->Open(); !problem.empty()) return problem;
    device.feed = std::make_unique<run::OutputFeed>(bench_, scenario_, at, *device.handover);
    devices_.push_back(std::move(device));
  }
  return "";
}

std::vector<bus::Driven> OutputDevices::Drives() const {
  std::vector<bus::Driven> driven;
  for (const Device& device : devices_) {
    driven.push_back({.index = 0,
                      .name = device.at->name,
                      .kind = std::string(output::AbilityOf(device.at->kind).kind),
                      .way = device.output->Description()});
  }
  return driven;
}

std::string OutputDevices::Begin(bool armed) {
  for (Device& device : devices_) {
    if (armed) {
      if (std::string problem = device.output->Arm(); !problem.empty()) {
        (void)Stop();
        return problem;
      }
    }
    device.thread = std::make_unique<io::OutputThread>(*device.output, *device.handover);
  }
  return "";
}

std::string OutputDevices::Stop() {
  for (Device& device : devices_) {
    if (device.thread) device.thread->Stop();
  }
  return failure();
}

std::vector<std::string> OutputDevices::Reports() const {
  std::vector<std::string> reports;
  for (const Device& device : devices_) {
    const std::string report = device.output->Report();
    if (!report.empty()) reports.push_back(device.at->name + ": " + report);
  }
  return reports;
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
void OutputDevices::OnEnd(const std::string& /*why*/, TimeNs /*t_ns*/) { (void)Stop(); }

}  // namespace drycrank::tools
