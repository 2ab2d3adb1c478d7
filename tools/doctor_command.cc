// SPDX-License-Identifier: Apache-2.0
//
// JSON: {"format": "drycrank doctor", "format_version": 1, "well": true when no trouble was found,
// "looked_at": [{bus, interface, up, kind, drives: [{name, way}], ...}], "findings": [{cause, trouble, where, what,
// command, page}]}.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>

#include "bus/link_findings.h"
#include "io/driven_reader.h"
#include "io/host_reader.h"
#include "io/interface.h"
#include "io/link_reader.h"
#include "io/real_clock.h"
#include "profile/load.h"
#include "tools/arming.h"
#include "tools/commands.h"
#include "tools/result_files.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string bench;
  std::vector<std::string> buses;
  double listen_s = 0;
  ArmingWish arming;
  std::string json;
};

// One bus to look at, and how to open it for listening.
struct Patient {
  bus::BusFacts facts;
  std::string address;   // "socketcan:can0"
  int index = 0;         // in the bench
  io::OpenedBus opened;  // to listen
};

void TakeFromBench(const profile::Bench& bench, int index, bus::BusFacts& facts) {
  const profile::Bus& wanted = Nth(bench.buses, index);
  facts.bus = wanted.name;
  facts.wanted_bitrate_bps = wanted.bitrate_bps;
  facts.wanted_data_bitrate_bps = wanted.data_bitrate_bps;
  for (const profile::Message& message : wanted.messages) {
    facts.wants_fd = facts.wants_fd || message.fd;
    facts.messages_sent_by_us += message.sender == profile::Sender::kSimulator ? 1 : 0;
  }
}

// "vehicle=socketcan:can0", "socketcan:can0", "can0". Empty, or the problem with it.
std::string Admit(const std::string& word, const profile::Bench* bench, Patient& patient) {
  const auto equals = word.find('=');
  patient.address = equals == std::string::npos ? word : word.substr(equals + 1);
  if (patient.address.find(':') == std::string::npos && patient.address != "multicast") {
    patient.address = "socketcan:" + patient.address;
  }
  if (equals != std::string::npos && bench != nullptr) {
    patient.index = profile::IndexOf(bench->buses, word.substr(0, equals));
    if (patient.index < 0)
      return fmt::format("the bench has no bus \"{}\"", word.substr(0, equals));
    TakeFromBench(*bench, patient.index, patient.facts);
  }
  const io::BusAddress address = io::ParseBusAddress(patient.address, patient.index);
  if (const auto* wrong = std::get_if<std::string>(&address)) return *wrong;
  if (const auto* can = std::get_if<io::SocketCanAddress>(&address)) {
    patient.facts.interface = can->interface;
  } else if (const auto* multicast = std::get_if<io::MulticastAddress>(&address)) {
    patient.facts.multicast = io::ReadMulticast(multicast->group, multicast->port);
  } else {
    return "an inproc bus has nothing to look at";
  }
  if (patient.facts.bus.empty()) {
    patient.facts.bus = equals == std::string::npos ? patient.address : word.substr(0, equals);
    if (!patient.facts.interface.empty() && equals == std::string::npos) {
      patient.facts.bus = patient.facts.interface;
    }
  }
  return "";
}

// One frame of no content and the lowest priority.
bool TrySending(bus::CanBus& outside) {
  bus::Frame frame;
  frame.id = 0x7FF;
  return outside.Send(frame);
}

void Probe(const Options& options, io::RealClock& clock, Patient& patient) {
  bus::ProbeFacts& probe = patient.facts.probe.emplace();
  const io::OpenedBus& opened = patient.opened;
  if (!opened.bus) {
    probe.problem = opened.error;
    return;
  }
  clock.Start();
  if (options.arming.given()) TrySending(*opened.bus);
  const TimeNs end_ns = FromSeconds(options.listen_s);
  while (clock.Now() < end_ns && !StopAsked()) {
    const int descriptors[] = {opened.bus->FileDescriptor()};
    clock.WaitUntil(std::min(end_ns, clock.Now() + 50 * kNsPerMs), descriptors);
    while (const auto frame = opened.bus->Receive()) {
      probe.received += frame->frame.error ? 0 : 1;
    }
    while (const auto event = opened.bus->NextEvent()) {
      probe.no_acknowledge = probe.no_acknowledge || *event == bus::BusEvent::kNoAcknowledge;
    }
  }
  const bus::BusCounters& counters = opened.bus->counters();
  probe.listened_s = ToSeconds(clock.Now());
  probe.error_reports = counters.error_reports;
  probe.sent = counters.sent;
  probe.confirmed = counters.confirmed;
  probe.refused = counters.send_refused;
}

std::string StateWords(const bus::BusFacts& facts) {
  if (facts.multicast) return facts.probe ? fmt::format("{} received", facts.probe->received) : "";
  if (!facts.link) return "not there";
  const bus::LinkFacts& link = *facts.link;
  std::string words =
      fmt::format("{}, {}", link.kind.empty() ? "no kind" : link.kind, link.up ? "up" : "down");
  words += link.CarriesFd() ? ", carries FD" : ", classical";
  if (link.controller) words += fmt::format(", {} bit/s", link.controller->bitrate_bps);
  words += fmt::format(", {} of {} frames", link.qdisc, link.send_queue_frames);
  words += link.hardware_stamps ? ", hardware receive stamps" : ", kernel receive stamps only";
  if (facts.probe) words += fmt::format(", {} received", facts.probe->received);
  return words;
}

void Print(const std::vector<Patient>& patients, const std::vector<bus::Finding>& findings) {
  for (const Patient& patient : patients) {
    fmt::print("looked at {} ({}): {}\n", patient.facts.bus, patient.address,
               StateWords(patient.facts));
  }
  for (const bus::Finding& finding : findings) {
    fmt::print("\n{} {}: {}\n", finding.trouble ? "trouble," : "notice,", finding.where,
               finding.what);
    if (!finding.command.empty()) fmt::print("    mend it: {}\n", finding.command);
    fmt::print("    read:    {}\n", bus::PageOf(finding));
  }
  const auto troubles = std::ranges::count(findings, true, &bus::Finding::trouble);
  fmt::print("\n{}\n", troubles == 0   ? "No trouble found."
                       : troubles == 1 ? std::string("One trouble found.")
                                       : fmt::format("{} troubles found.", troubles));
}

nlohmann::ordered_json DrivesJson(const std::vector<bus::Driven>& drives) {
  auto all = nlohmann::ordered_json::array();
  for (const bus::Driven& one : drives) all.push_back({{"name", one.name}, {"way", one.way}});
  return all;
}

std::string Json(const std::vector<Patient>& patients, const std::vector<bus::Finding>& findings) {
  using Value = nlohmann::ordered_json;
  Value all{{"format", "drycrank doctor"}, {"format_version", 1}};
  all["well"] = std::ranges::none_of(findings, &bus::Finding::trouble);
  all["looked_at"] = Value::array();
  for (const Patient& patient : patients) {
    const auto& link = patient.facts.link;
    all["looked_at"].push_back(
        {{"bus", patient.facts.bus},
         {"interface", patient.address},
         {"kind", link ? Value(link->kind) : Value(nullptr)},
         {"up", link ? Value(link->up) : Value(nullptr)},
         {"drives", DrivesJson(patient.facts.drives)},
         {"hardware_stamps", link ? Value(link->hardware_stamps) : Value(nullptr)},
         {"bitrate_bps",
          link && link->controller ? Value(link->controller->bitrate_bps) : Value(nullptr)},
         {"received",
          patient.facts.probe ? Value(patient.facts.probe->received) : Value(nullptr)}});
  }
  all["findings"] = Value::array();
  for (const bus::Finding& f : findings) {
    all["findings"].push_back({{"cause", std::string(f.cause)},
                               {"trouble", f.trouble},
                               {"where", f.where},
                               {"what", f.what},
                               {"command", f.command},
                               {"page", bus::PageOf(f)}});
  }
  return all.dump(2, ' ', false, Value::error_handler_t::replace) + "\n";
}

int BadInput(const std::string& what) {
  fmt::print(stderr, "drycrank doctor: {}\n", what);
  return kBadInput;
}

int Doctor(const Options& options) {
  std::optional<profile::LoadedBench> loaded;
  if (!options.bench.empty()) {
    loaded = profile::LoadBench(options.bench);
    if (PrintProblems(loaded->problems)) return kBadInput;
  }
  if (const std::string why = io::WhyNotThere({{"--json", options.json, kJsonMark}},
                                              loaded ? loaded->files : std::vector<std::string>());
      !why.empty()) {
    return BadInput(why);
  }
  if (options.arming.given() && options.listen_s <= 0)
    return BadInput("--arm sends a frame: give --listen too");
  const bus::HostFacts host = io::ReadHost();
  const std::vector<std::string>& words =
      options.buses.empty() ? host.can_interfaces : options.buses;
  std::vector<Patient> patients;
  for (const std::string& word : words) {
    patients.emplace_back();
    const std::string wrong = Admit(word, loaded ? &*loaded->bench : nullptr, patients.back());
    if (!wrong.empty()) return BadInput(fmt::format("--bus {}: {}", word, wrong));
  }
  io::RealClock clock;
  std::vector<bus::CanBus*> opened;
  for (Patient& patient : patients) {
    if (options.listen_s <= 0) continue;
    patient.opened = io::OpenBus(patient.address, clock, patient.index);
    opened.push_back(patient.opened.bus.get());
  }
  if (options.arming.given() && !Arm(opened, options.arming).may_drive) return kBadInput;
  CatchStopSignals();
  std::vector<bus::BusFacts> facts;
  for (Patient& patient : patients) {
    if (options.listen_s > 0) Probe(options, clock, patient);
    // After listening: the counters then know what happened meanwhile.
    if (!patient.facts.multicast) patient.facts.link = io::ReadLink(patient.facts.interface);
    const auto driven =
        patient.facts.link ? io::ReadDriven(patient.facts.link->index) : std::nullopt;
    patient.facts.drives = driven.value_or(std::vector<bus::Driven>());
    facts.push_back(patient.facts);
  }
  const std::vector<bus::Finding> findings = bus::FindTrouble(host, facts);
  Print(patients, findings);
  if (!options.json.empty()) {
    const std::string problem = WriteFile(options.json, Json(patients, findings));
    if (!problem.empty()) {
      BadInput(problem);
      return kBenchFailed;
    }
  }
  return std::ranges::any_of(findings, &bus::Finding::trouble) ? kBenchFailed : kAllMet;
}

}  // namespace

void AddDoctor(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "doctor", "Look at interfaces, buses and rights: why does nothing arrive?");
  command->add_option("bench", options->bench, "Bench file (YAML): what the buses should be")
      ->type_name("BENCH");
  command
      ->add_option(
          "--bus", options->buses,
          "Interfaces to look at: NAME=socketcan:can0, NAME=multicast, or can0; without it, every "
          "CAN interface")
      ->type_name("NAME=INTERFACE");
  command->add_option("--listen", options->listen_s, "Listen on each bus for so many seconds")
      ->check(InRange(0.0, 3600.0))
      ->type_name("SECONDS");
  command
      ->add_option(
          "--arm", options->arming.what,
          "While listening, send one empty frame, 0x7FF, on each; names the hardware that may "
          "be driven so: can0, or can0,can1")
      ->delimiter(',')
      ->allow_extra_args(false)
      ->type_name("WHAT");
  command->add_option("--by", options->arming.by, "Who says so")->type_name("WHO");
  command->add_option("--json", options->json, "Write the findings as JSON")->type_name("FILE");
  command->footer(
      "Exit codes: 0 no trouble, 2 bad input, 3 trouble found.\n\n"
      "Examples:\n"
      "  drycrank doctor\n"
      "  drycrank doctor profiles/benches/hill_climb.yaml --bus vehicle=socketcan:can0 --listen 5\n"
      "  drycrank doctor --bus can0 --listen 3 --arm can0 --by NAME");
  command->callback([options, &exit_code] { exit_code = Doctor(*options); });
}

}  // namespace drycrank::tools
