// SPDX-License-Identifier: Apache-2.0
#include "study/cycle_view.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "check/edge_places.h"
#include "check/value_words.h"
#include "profile/state_names.h"
#include "profile/triggers.h"
#include "standin/conversion.h"
#include "study/oscilloscope.h"
#include "study/wheel_match.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr TimeNs kPatienceNs = 1500 * kNsPerMs;  // for synchronisation, after the first tooth
constexpr std::size_t kMostPieces = 20'000;      // per probe
constexpr double kTimedDeg = 10;                 // between two times of the picture

template <class List, class Item>
void Keep(List& list, const Item& item) {
  list.push_back(item);
  if (list.size() > kMostPieces) list.pop_front();
}

}  // namespace

CycleView::CycleView(const profile::Bench& bench, const run::Runner& runner,
                     std::optional<TimeNs> at_ns)
    : bench_(bench), runner_(runner), at_ns_(at_ns), cycle_deg_(bench.engine.cycle_deg()) {
  if (!bench.controller) return;
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    probes_.push_back({standin::InputIndex(*bench.controller, channel.terminal),
                       check::TriggerAt(bench, channel),
                       {},
                       {}});
  }
}

void CycleView::OnMotion(const CrankMotion& motion) {
  if (!is_whole_) crank_.OnMotion(motion);
}

void CycleView::OnWave(int input, const Wave& piece) {
  if (is_whole_) return;
  for (Probe& probe : probes_) {
    if (probe.input == input) Keep(probe.waves, piece);
  }
}

void CycleView::OnEdge(const Edge& edge) {
  const auto at = crank_.AngleAt(edge.t_ns);
  if (is_whole_ || !at) return;
  Keep(Nth(probes_, edge.channel).edges, std::pair(*at, edge.high));
  first_edge_ns_ = std::min(first_edge_ns_, edge.t_ns);
}

void CycleView::OnOutput(const standin::OutputEvent& event) {
  const auto at = crank_.AngleAt(event.t_ns);
  if (!is_whole_ && at) Keep(outputs_, Done{*at, event});
}

void CycleView::OnSample(TimeNs t_ns) {
  const auto at = crank_.AngleAt(t_ns);
  if (is_whole_ || !at) return;
  const std::int64_t now = CycleOf(*at);
  samples_.emplace_back(t_ns, *at);
  const standin::Controller* controller = runner_.controller();
  if (controller != nullptr) states_.emplace_back(*at, controller->sync_state());
  // The next one is whole; that of a given instant began before it.
  if (!cycle_ && HasBegun(t_ns)) cycle_ = at_ns_ ? CycleOf(*crank_.AngleAt(*at_ns_)) : now + 1;
  Trim(cycle_.value_or(now) - 1);
  if (cycle_ && now > *cycle_) End();
}

bool CycleView::HasBegun(TimeNs t_ns) {
  if (at_ns_) return t_ns >= *at_ns_ && crank_.AngleAt(*at_ns_).has_value();
  const standin::Controller* controller = runner_.controller();
  is_synchronised_ =
      controller != nullptr && controller->sync_state() == standin::SyncState::kSynchronised;
  return is_synchronised_ || (first_edge_ns_ != kNever && t_ns - first_edge_ns_ > kPatienceNs);
}

void CycleView::End() {
  is_whole_ = true;
  for (const Probe& probe : probes_) {
    const int stimulus =
        probe.trigger < 0 ? -1 : Nth(bench_.triggers, probe.trigger).advance_stimulus;
    advance_deg_.push_back(
        stimulus < 0 ? 0 : runner_.timeline().Value(stimulus, samples_.back().first));
  }
}

// What belongs to cycles before `oldest` is gone; a level that holds at its begin stays.
void CycleView::Trim(std::int64_t oldest) {
  const auto is_old = [&](const CrankAngle& at) { return CycleOf(at) < oldest; };
  while (samples_.size() > 1 && is_old(samples_[1].second)) samples_.pop_front();
  while (states_.size() > 1 && is_old(states_[1].first)) states_.pop_front();
  while (!outputs_.empty() && is_old(outputs_.front().at)) outputs_.pop_front();
  for (Probe& probe : probes_) {
    while (!probe.edges.empty() && is_old(probe.edges.front().first)) probe.edges.pop_front();
    while (probe.waves.size() > 1 && probe.waves[1].begin_ns < samples_.front().first) {
      probe.waves.pop_front();
    }
  }
}

std::int64_t CycleView::CycleOf(const CrankAngle& at) const {
  const auto turns = static_cast<std::int64_t>(cycle_deg_ / 360);
  return at.turns >= 0 ? at.turns / turns : (at.turns - turns + 1) / turns;
}

// The end of the cycle belongs to it, too.
std::optional<double> CycleView::InView(const CrankAngle& at) const {
  const double deg = at.Minus(Begin());
  return deg < 0 || deg > cycle_deg_ ? std::nullopt : std::optional(deg);
}

CrankAngle CycleView::Begin() const {
  return {*cycle_ * static_cast<std::int64_t>(cycle_deg_ / 360), 0};
}

// Of a place in the cycle, to a nanosecond: angles only grow. REQUIRES: whole.
TimeNs CycleView::TimeOf(double deg) const {
  const CrankAngle wanted = Begin().Plus(deg);
  TimeNs low = samples_.front().first, high = samples_.back().first;
  while (high - low > 1) {
    const TimeNs middle = low + (high - low) / 2;
    const auto at = crank_.AngleAt(middle);
    (at && at->Minus(wanted) < 0 ? low : high) = middle;
  }
  return high;
}

std::string CycleView::Title() const {
  return is_synchronised_ ? "The first whole cycle after synchronisation"
                          : "A cycle 1.5 s after the first tooth, not synchronised until then";
}

std::optional<report::CyclePicture> CycleView::Picture(const std::string& title) const {
  if (!is_whole_ || probes_.empty()) return std::nullopt;
  report::CyclePicture picture;
  picture.title = title.empty() ? Title() : title;
  picture.begin_ns = TimeOf(0);
  picture.end_ns = TimeOf(cycle_deg_);
  for (double deg = 0; deg <= cycle_deg_; deg += kTimedDeg) picture.times_ns.push_back(TimeOf(deg));
  picture.cycle_deg = cycle_deg_;
  picture.speed_rpm = cycle_deg_ / 6 / ToSeconds(picture.end_ns - picture.begin_ns);
  picture.advance_deg = bench_.engine.advance_deg;
  picture.trailing_deg = bench_.engine.trailing_deg;
  for (std::size_t i = 0; i < bench_.engine.firing_order.size(); ++i) {
    picture.tops.emplace_back(bench_.engine.firing_angles_deg[i], bench_.engine.firing_order[i]);
  }
  for (std::size_t i = 0; i < probes_.size(); ++i) picture.rows.push_back(RowOf(i));
  AddOutputs(picture);
  AddStates(picture);
  return picture;
}

report::CycleRow CycleView::RowOf(std::size_t probe) const {
  const profile::TriggerChannel& channel = bench_.controller->triggers[probe];
  report::CycleRow row;
  row.name = fmt::format("{} at {}", channel.name, channel.terminal);
  row.levels = LevelsOf(channel);
  AddVolts(probes_[probe], row);
  for (const auto& [at, high] : probes_[probe].edges) {
    const auto deg = InView(at);
    if (deg && *deg < cycle_deg_) row.seen.emplace_back(*deg, high);
  }
  if (probes_[probe].trigger >= 0) AddDue(probe, row);
  return row;
}

void CycleView::AddVolts(const Probe& probe, report::CycleRow& row) const {
  const ScopeWindow window{TimeOf(0), TimeOf(cycle_deg_)};
  for (const auto& [t_ns, volts] : LinePoints(probe.waves, window)) {
    const auto at = crank_.AngleAt(t_ns);
    if (const auto deg = at ? InView(*at) : std::nullopt) row.volts.emplace_back(*deg, volts);
  }
}

void CycleView::AddDue(std::size_t probe, report::CycleRow& row) const {
  const profile::TriggerChannel& channel = bench_.controller->triggers[probe];
  const profile::Trigger& built = Nth(bench_.triggers, probes_[probe].trigger);
  row.coil = std::holds_alternative<profile::VariableReluctancePickup>(built.pickup);
  std::vector<check::BuiltEdge> due =
      check::BuiltEdges(built, bench_.engine, check::LeadsReversed(bench_, built, channel));
  std::vector<std::pair<double, bool>> seen = row.seen;
  KeepThisTurn(built, due);
  if (row.coil) {
    const bool level = channel.edge == profile::ActiveEdge::kRising;
    std::erase_if(due, [&](const check::BuiltEdge& edge) { return edge.high != level; });
    std::erase_if(seen, [&](const auto& edge) { return edge.second != level; });
  }
  for (check::BuiltEdge& edge : due) {
    edge.deg = WrapDeg(edge.deg - Nth(advance_deg_, probe), cycle_deg_);
  }
  std::ranges::sort(due, {}, &check::BuiltEdge::deg);
  MatchWheel(due, seen, cycle_deg_, built.shaft == profile::Shaft::kCrank ? 360 : cycle_deg_, row);
}

// Of a wheel that turns once in several cycles, its edges in this one.
void CycleView::KeepThisTurn(const profile::Trigger& built,
                             std::vector<check::BuiltEdge>& due) const {
  const double whole_deg = check::WheelCycleDeg(built, bench_.engine);
  if (whole_deg <= cycle_deg_) return;
  const double begin_deg = Begin().InCycle(whole_deg);
  for (check::BuiltEdge& edge : due) edge.deg -= begin_deg;
  std::erase_if(
      due, [&](const check::BuiltEdge& edge) { return edge.deg < 0 || edge.deg >= cycle_deg_; });
}

void CycleView::AddOutputs(report::CyclePicture& picture) const {
  std::vector<report::CycleInjection> open;
  const auto top = [&](int cylinder) {
    const auto at = std::ranges::find(picture.tops, cylinder, &std::pair<double, int>::second);
    return at == picture.tops.end() ? 0 : at->first;
  };
  for (const Done& done : outputs_) {
    if (done.event.kind == standin::OutputKind::kSwitch) continue;
    const auto deg = InView(done.at);
    const int cylinder = done.event.cylinder;
    if (IsCoil(done.event.kind)) {
      if (!deg || done.event.on) continue;
      picture.sparks.push_back({*deg, cylinder, WrapSignedDeg(top(cylinder) - *deg, cycle_deg_),
                                done.event.kind == OutputKind::kTrailingCoil});
    } else if (done.event.on) {
      if (CycleOf(done.at) <= *cycle_) open.push_back({deg.value_or(0), 0, cylinder});
    } else {
      const auto begun = std::ranges::find(open, cylinder, &report::CycleInjection::cylinder);
      if (begun == open.end()) continue;
      begun->end_deg = deg.value_or(cycle_deg_);
      if (CycleOf(done.at) >= *cycle_) picture.injections.push_back(*begun);
      open.erase(begun);
    }
  }
}

// A state is known from one sample to the next, no finer.
void CycleView::AddStates(report::CyclePicture& picture) const {
  const profile::StateNames& names = profile::StateNamesOf("sync_state");
  for (const auto& [at, state] : states_) {
    if (CycleOf(at) > *cycle_) break;
    const double deg = InView(at).value_or(0);
    const std::string& name = names.at(static_cast<int>(state));
    if (CycleOf(at) < *cycle_ ||
        (!picture.states.empty() && picture.states.back().first == 0 && deg == 0)) {
      picture.states.clear();
    }
    if (picture.states.empty() || picture.states.back().second != name) {
      picture.states.emplace_back(picture.states.empty() ? 0 : deg, name);
    }
  }
}

}  // namespace drycrank::study
