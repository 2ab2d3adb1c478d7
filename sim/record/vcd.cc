// SPDX-License-Identifier: Apache-2.0
#include "record/vcd.h"

#include <algorithm>
#include <utility>

namespace drycrank::record {
namespace {

constexpr TimeNs kHorizonNs = 60 * kNsPerMs;
constexpr std::size_t kRoom = 16384;  // changes within the horizon, at 20,000 r/min and more

// One printable character per variable is enough for the few there are.
std::string Code(std::size_t index) { return std::string(1, static_cast<char>('!' + index)); }

}  // namespace

VcdWriter::VcdWriter(const profile::Bench& bench, const std::string& path)
    : bench_(bench), file_(path) {
  pending_.reserve(kRoom);
  file_.Line("$timescale 1 ns $end");
  file_.Line("$scope module bench $end");
  for (const auto& trigger : bench.controller->triggers) Declare(trigger.name);
  coils_ = count_;
  for (int c : bench.controller->decoder.firing_order) Declare(fmt::format("coil_{}", c));
  injectors_ = count_;
  for (int c : bench.controller->decoder.firing_order) Declare(fmt::format("injector_{}", c));
  file_.Line("$upscope $end");
  file_.Line("$enddefinitions $end");
  file_.Line("#0");
  for (std::size_t i = 0; i < count_; ++i) file_.Line("{}{}", i < coils_ ? 'x' : '0', Code(i));
}

void VcdWriter::OnEdge(const Edge& edge) {
  Add(edge.t_ns, static_cast<std::size_t>(edge.channel), edge.high);
}

void VcdWriter::OnOutput(const standin::OutputEvent& event) {
  const auto& order = bench_.controller->decoder.firing_order;
  const auto at = std::find(order.begin(), order.end(), event.cylinder) - order.begin();
  const std::size_t base = event.kind == standin::OutputKind::kCoil ? coils_ : injectors_;
  Add(event.t_ns, base + static_cast<std::size_t>(at), event.on);
}

void VcdWriter::OnSample(TimeNs t_ns) { WriteUpTo(t_ns - kHorizonNs); }

void VcdWriter::OnFinish(TimeNs t_ns) {
  WriteUpTo(kNever);
  file_.Line("#{}", std::max(t_ns, last_ns_));
}

void VcdWriter::Declare(const std::string& name) {
  file_.Line("$var wire 1 {} {} $end", Code(count_), name);
  ++count_;
}

// Kept in time order as they come: what is late is late by a few changes, and sorting all of them
// each time would allocate.
void VcdWriter::Add(TimeNs t_ns, std::size_t variable, bool high) {
  pending_.push_back({std::max(t_ns, last_ns_), variable, high});
  for (std::size_t i = pending_.size() - 1; i > 0 && pending_[i].t_ns < pending_[i - 1].t_ns; --i) {
    std::swap(pending_[i], pending_[i - 1]);
  }
}

void VcdWriter::WriteUpTo(TimeNs t_ns) {
  std::size_t done = 0;
  for (; done < pending_.size() && pending_[done].t_ns <= t_ns; ++done) {
    const Change& change = pending_[done];
    if (change.t_ns != last_ns_) file_.Line("#{}", change.t_ns);
    last_ns_ = change.t_ns;
    file_.Line("{}{}", change.high ? 1 : 0, Code(change.variable));
    ++changes_;
  }
  pending_.erase(pending_.begin(), pending_.begin() + static_cast<std::ptrdiff_t>(done));
}

}  // namespace drycrank::record
