// SPDX-License-Identifier: Apache-2.0
#include "schedule/nets.h"

#include <algorithm>

#include "types/nth.h"

namespace drycrank::schedule {

Nets::Nets(const Schedule& schedule, const profile::Bench* bench) : schedule_(schedule) {
  if (bench != nullptr) JoinRelays(*bench);
  for (std::size_t i = 0; i < schedule.wires.size(); ++i) {
    const ScheduleWire& wire = schedule.wires[i];
    if (wire.from.text == wire.to.text) continue;
    wires_at_[wire.from.text].push_back(static_cast<int>(i));
    wires_at_[wire.to.text].push_back(static_cast<int>(i));
  }
  for (const auto& [end, unused] : wires_at_) {
    if (net_.contains(end)) continue;
    const int net = count();
    ends_.emplace_back();
    wires_.emplace_back();
    std::vector<std::string> open{end};
    net_[end] = net;
    while (!open.empty()) {
      const std::string at = open.back();
      open.pop_back();
      ends_.back().push_back(at);
      for (const int wire : WiresAt(at)) {
        wires_.back().push_back(wire);
        const ScheduleWire& w = Nth(schedule_.wires, wire);
        for (const std::string& far : {w.from.text, w.to.text}) {
          if (net_.emplace(far, net).second) open.push_back(far);
        }
      }
      const std::string behind = BehindRelay(at);
      if (!behind.empty() && net_.emplace(behind, net).second) open.push_back(behind);
    }
    std::sort(ends_.back().begin(), ends_.back().end());
    std::vector<int>& wires = wires_.back();
    std::sort(wires.begin(), wires.end());
    wires.erase(std::unique(wires.begin(), wires.end()), wires.end());
  }
}

void Nets::JoinRelays(const profile::Bench& bench) {
  for (const profile::Relay& relay : bench.relays) {
    relay_[relay.common] = relay.normally_open;
    relay_[relay.normally_open] = relay.common;
  }
}

std::string Nets::BehindRelay(const std::string& end) const {
  const auto at = relay_.find(end);
  return at == relay_.end() || !wires_at_.contains(at->second) ? std::string() : at->second;
}

int Nets::Of(const std::string& end) const {
  const auto at = net_.find(end);
  return at == net_.end() ? -1 : at->second;
}

const std::vector<int>& Nets::WiresAt(const std::string& end) const {
  static const std::vector<int> none;
  const auto at = wires_at_.find(end);
  return at == wires_at_.end() ? none : at->second;
}

std::vector<int> Nets::Way(const std::string& from, const std::string& to) const {
  constexpr int kBegin = -1, kRelay = -2;
  std::map<std::string, int> by;  // the wire by which an end was reached
  std::vector<std::string> open{from};
  by[from] = kBegin;
  for (std::size_t i = 0; i < open.size() && !by.contains(to); ++i) {
    for (const int wire : WiresAt(open[i])) {
      const ScheduleWire& w = Nth(schedule_.wires, wire);
      const std::string& far = w.from.text == open[i] ? w.to.text : w.from.text;
      if (by.emplace(far, wire).second) open.push_back(far);
    }
    const std::string behind = BehindRelay(open[i]);
    if (!behind.empty() && by.emplace(behind, kRelay).second) open.push_back(behind);
  }
  std::vector<int> way;
  if (!by.contains(to)) return way;
  for (std::string at = to; by[at] != kBegin;) {
    if (by[at] == kRelay) {
      at = BehindRelay(at);
      continue;
    }
    way.push_back(by[at]);
    const ScheduleWire& w = Nth(schedule_.wires, by[at]);
    at = w.from.text == at ? w.to.text : w.from.text;
  }
  std::reverse(way.begin(), way.end());
  return way;
}

}  // namespace drycrank::schedule
