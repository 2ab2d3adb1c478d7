// SPDX-License-Identifier: Apache-2.0
//
// Arming by the control API: all that one request names, or nothing.
#include <fmt/format.h>

#include <algorithm>

#include "daemon/answer_line.h"
#include "daemon/handler.h"
#include "types/plain_text.h"

namespace drycrank::daemon {
namespace {

using Json = nlohmann::ordered_json;
using Hardware = std::vector<bus::Driven>;

std::vector<std::string> NamesIn(const std::string& list) {
  std::vector<std::string> names;
  std::size_t begin = 0;
  for (std::size_t end = 0; end != std::string::npos; begin = end + 1) {
    end = list.find(',', begin);
    names.push_back(list.substr(begin, end - begin));
  }
  return names;
}

bool Has(const Hardware& hardware, const std::string& name) {
  return std::ranges::count(hardware, name, &bus::Driven::name) > 0;
}

bool NamesAll(const std::vector<std::string>& names, const Hardware& hardware) {
  return std::ranges::all_of(hardware, [&](const bus::Driven& driven) {
    return std::ranges::count(names, driven.name) > 0;
  });
}

bool NamesAny(const std::vector<std::string>& names, const Hardware& hardware) {
  return std::ranges::any_of(names, [&](const std::string& name) { return Has(hardware, name); });
}

void Add(const Hardware& more, Hardware& hardware) {
  for (const bus::Driven& driven : more) {
    if (!Has(hardware, driven.name)) hardware.push_back(driven);
  }
}

// Whoever arms something believes that it is driven.
std::string WhyUnknown(const std::vector<std::string>& names, const Hardware& known) {
  for (const std::string& name : names) {
    if (Has(known, name)) continue;
    return fmt::format("there is no hardware '{}' here, and nothing was armed; there is: {}", OneLine(name),
                       bus::NamesOf(known));
  }
  return "";
}

// A group of which a part is named; or, where none is named whole, all of them.
std::string WhyNotNamed(const std::vector<std::string>& names, const std::vector<Hardware>& groups) {
  Hardware left_out, all;
  bool any_whole = false;
  for (const Hardware& group : groups) {
    const bool whole = NamesAll(names, group);
    any_whole = any_whole || whole;
    if (!whole && NamesAny(names, group)) Add(group, left_out);
    Add(group, all);
  }
  if (left_out.empty() && any_whole) return "";
  const Hardware& missing = left_out.empty() ? all : left_out;
  return fmt::format("not named: what would be driven is {}; when the bench is safe: arm {} by NAME",
                     bus::NamesOf(missing), bus::NamesOf(missing, ","));
}

void ShowOutputs(const LiveOutputs& outputs, Json& answer) {
  Json shown = Json::array();
  for (const bus::Driven& driven : outputs.Drives()) {
    shown.push_back(fmt::format("{} ({}): {}", driven.name, driven.kind, driven.way));
  }
  answer["outputs"] = shown;
  answer["cautions"] = outputs.Cautions();
}

}  // namespace

std::vector<std::size_t> Handler::WaitingBuses() const {
  std::vector<std::size_t> waiting;
  for (std::size_t b = 0; b < interfaces_.size(); ++b) {
    const bus::CanBus* outside = interfaces_[b];
    if (outside != nullptr && !outside->IsVirtual() && !outside->IsArmed()) waiting.push_back(b);
  }
  return waiting;
}

std::vector<bus::Driven> Handler::ArmableHardware() const {
  Hardware known = outputs_ != nullptr ? outputs_->Drives() : Hardware();
  for (const bus::CanBus* outside : interfaces_) {
    if (outside != nullptr && !outside->IsVirtual()) Add(outside->Drives(), known);
  }
  return known;
}

// Whoever does it holds them: when the connection ends they are safe. Empty, or why not.
std::string Handler::ArmOutputs(const std::string& by, std::uint64_t client) {
  if (std::string problem = outputs_->Arm(runner_.now_ns()); !problem.empty()) return problem;
  armer_ = client;
  Keep("outputs", outputs_->Drives(), by);
  return "";
}

void Handler::Keep(const std::string& where, const std::vector<bus::Driven>& what, const std::string& by) {
  runner_.Remark(fmt::format("{}: {} armed by {}", where, bus::NamesOf(what), by));
  if (keep_armed_) keep_armed_(what, by);
}

// All that waits together is named together: the outputs, and what one bus drives. Else nothing is armed.
std::string Handler::Arm(const Request& request, std::uint64_t client) {
  const bool outputs_wait = outputs_ != nullptr && !outputs_->armed();
  const std::vector<std::size_t> buses = WaitingBuses();
  if (!outputs_wait && buses.empty()) return Problem("nothing waits to be armed");
  std::vector<Hardware> groups;
  if (outputs_wait) groups.push_back(outputs_->Drives());
  for (const std::size_t bus : buses) groups.push_back(interfaces_[bus]->Drives());
  const std::vector<std::string> names = NamesIn(request.name);
  const std::string by = OneLine(request.value);
  Json answer = {{"ok", false}};
  if (outputs_wait) ShowOutputs(*outputs_, answer);
  std::string problem = WhyUnknown(names, ArmableHardware());
  if (problem.empty()) problem = WhyNotNamed(names, groups);
  const bool arms_outputs = outputs_wait && NamesAll(names, groups[0]);
  if (problem.empty() && arms_outputs) problem = ArmOutputs(by, client);
  if (!problem.empty()) {
    answer["problem"] = problem;
    return Line(answer);
  }
  for (const std::size_t bus : buses) {
    const Hardware drives = interfaces_[bus]->Drives();
    if (!NamesAll(names, drives)) continue;
    interfaces_[bus]->Arm();
    Keep("bus " + bench_.buses[bus].name, drives, by);
  }
  Hardware armed;
  for (const Hardware& group : groups) {
    if (NamesAll(names, group)) Add(group, armed);
  }
  answer["ok"] = true;
  answer["armed"] = bus::NamesOf(armed);
  if (arms_outputs) answer["held"] = true;
  return Line(answer);
}

}  // namespace drycrank::daemon
