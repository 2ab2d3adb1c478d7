// SPDX-License-Identifier: Apache-2.0
#include "run/talkers.h"

#include <algorithm>
#include <utility>

#include "standin/diagnostic_server.h"
#include "standin/j1939_unit.h"

namespace drycrank::run {

void Talkers::AddController(const profile::Controller& config,
                            const standin::Controller& controller) {
  const standin::OwnValues values{
      [&controller](std::string_view name) { return controller.ValueIndex(name); },
      [&controller](int index) { return controller.Value(index); }};
  if (config.diagnostics) {
    seats_.push_back(
        {std::make_unique<standin::DiagnosticServer>(config, values), Origin::kController});
  }
  if (config.j1939) {
    seats_.push_back(
        {std::make_unique<standin::J1939Unit>(*config.j1939, values), Origin::kController});
  }
}

void Talkers::AddTester(const profile::Bench& bench, const profile::Scenario& scenario) {
  if (!Tester::IsNeeded(bench, scenario)) return;
  auto tester = std::make_unique<Tester>(bench, scenario);
  tester_ = tester.get();
  seats_.push_back({std::move(tester), Origin::kSimulator});
}

void Talkers::OnFrame(const bus::TimedFrame& frame, Origin origin) {
  for (Seat& seat : seats_) {
    if (seat.origin != origin) seat.talker->OnFrame(frame);
  }
}

TimeNs Talkers::NextDue() const {
  TimeNs due_ns = kNever;
  for (const Seat& seat : seats_) due_ns = std::min(due_ns, seat.talker->NextDue());
  return due_ns;
}

bool Talkers::TakeDue(TimeNs t_ns, bus::TimedFrame& out, Origin& origin) {
  for (Seat& seat : seats_) {
    if (seat.talker->NextDue() > t_ns || !seat.talker->TakeDue(t_ns, out)) continue;
    origin = seat.origin;
    return true;
  }
  return false;
}

}  // namespace drycrank::run
