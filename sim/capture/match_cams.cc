// SPDX-License-Identifier: Apache-2.0
#include "capture/match_cams.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "check/edge_places.h"
#include "check/wheel_fit.h"
#include "profile/turning_wheel.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::capture {
namespace {

constexpr double kAsEvenDeg =
    1;  // two ways round of one wheel whose edges are off by the same within this

bool IsCoil(const profile::Trigger& trigger) {
  return std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
}

struct CamFit {
  check::Fit fit;
  std::vector<check::BuiltEdge> due;
  bool inverted = false;
  double zero_deg = 0;  // taken off the seen
  int left() const { return fit.missing + fit.extra; }
  double spread_deg() const { return fit.most_deg - fit.least_deg; }
};

std::vector<check::BuiltEdge> DueOf(const profile::Trigger& trigger, const profile::Engine& engine,
                                    bool as_wave, bool steep_rises) {
  const bool is_coil = IsCoil(trigger);
  profile::Trigger as_seen = trigger;
  if (is_coil && !as_wave) as_seen.pickup = profile::HallPickup{};
  std::vector<check::BuiltEdge> due =
      check::BuiltEdges(as_seen, engine, is_coil && as_wave && steep_rises);
  if (as_wave && is_coil)
    std::erase_if(due, [](const check::BuiltEdge& edge) { return !edge.begin; });
  return due;
}

std::vector<check::SeenEdge> SeenOf(const Folded& folded, double less_deg, double cycle_deg) {
  std::vector<check::SeenEdge> seen;
  for (const FoldedPlace& place : folded.places)
    seen.push_back({WrapDeg(place.deg - less_deg, cycle_deg), place.high});
  std::ranges::sort(seen, {}, &check::SeenEdge::deg);
  return seen;
}

bool IsBetter(const CamFit& a, const CamFit& b, double as_even_deg) {
  if (a.left() != b.left()) return a.left() < b.left();
  if (std::abs(a.spread_deg() - b.spread_deg()) > as_even_deg)
    return a.spread_deg() < b.spread_deg();
  if (std::abs(std::abs(a.fit.late_deg()) - std::abs(b.fit.late_deg())) > 0.01) {
    return std::abs(a.fit.late_deg()) < std::abs(b.fit.late_deg());
  }
  return !a.inverted && b.inverted;
}

class Cam {
 public:
  Cam(const profile::Bench& bench, const CapturedChannel& channel, const CrankMatch& crank,
      const CycleZero& zero, double step_deg)
      : bench_(bench),
        channel_(channel),
        crank_(crank),
        zero_(zero),
        step_deg_(step_deg),
        trigger_(Nth(bench.triggers, channel.about.trigger)) {
    cycle_deg_ = check::WheelCycleDeg(trigger_, bench.engine);
    as_wave_ = channel.is_wave || (IsCoil(trigger_) && channel.is_digital);
    period_deg_ = profile::TurningWheelOf(trigger_, bench.engine).turn_deg;
  }

  CamFit Best(const profile::Wheel& wheel, bool inverted) const {
    profile::Trigger trigger = trigger_;
    trigger.wheel = wheel;
    const bool rises = as_wave_ && inverted;
    CamFit best;
    best.due = DueOf(trigger, bench_.engine, as_wave_, rises);
    best.inverted = inverted;
    if (!as_wave_ && inverted) {
      for (check::BuiltEdge& edge : best.due) edge.high = !edge.high;
    }
    const check::WheelFit fitter(best.due, cycle_deg_, period_deg_);
    const Folded folded = Fold(EdgesOf(channel_, !as_wave_, rises), crank_.track, zero_.stretch,
                               zero_.deg, cycle_deg_, step_deg_);
    best.fit = fitter.Best(SeenOf(folded, 0, cycle_deg_), false);
    if (!zero_.by_cam) TakeZero(fitter, folded, best);
    return best;
  }

  Folded FoldedBy(const CamFit& fit) const {
    return Fold(EdgesOf(channel_, !as_wave_, as_wave_ && fit.inverted), crank_.track, zero_.stretch,
                zero_.deg + fit.zero_deg, cycle_deg_, step_deg_);
  }
  bool as_wave() const { return as_wave_; }
  // A sample each of them may be off at both ends.
  double as_even_deg() const { return std::max(kAsEvenDeg, 2 * step_deg_); }
  const profile::Trigger& trigger() const { return trigger_; }
  double cycle_deg() const { return cycle_deg_; }

 private:
  // What the crank leaves open (which turn, of even teeth which tooth) is chosen so that the cam is
  // least late.
  void TakeZero(const check::WheelFit& fitter, const Folded& folded, CamFit& best) const {
    const double late_deg = best.fit.late_deg();
    const double by_deg = std::round(late_deg / crank_.open_deg) * crank_.open_deg;
    if (by_deg == 0) return;
    const check::Fit other = fitter.Best(SeenOf(folded, by_deg, cycle_deg_), false);
    if (other.missing + other.extra > best.left() ||
        std::abs(other.late_deg()) > std::abs(late_deg))
      return;
    best.fit = other;
    best.zero_deg = by_deg;
  }

  const profile::Bench& bench_;
  const CapturedChannel& channel_;
  const CrankMatch& crank_;
  const CycleZero& zero_;
  double step_deg_;
  const profile::Trigger& trigger_;
  double cycle_deg_ = 720, period_deg_ = 720;
  bool as_wave_ = false;
};

std::string WhatOf(const check::BuiltEdge& edge, bool as_wave) {
  return fmt::format("tooth {} {}", edge.tooth,
                     as_wave      ? "centre"
                     : edge.begin ? "begins"
                                  : "ends");
}

// Each due edge with the nearest seen.
void ListEdges(const CamFit& fit, const Folded& folded, const Cam& cam, TriggerMatch& out) {
  for (const check::BuiltEdge& due : fit.due) {
    EdgePlace place{WhatOf(due, cam.as_wave()), due.deg, 0, 1e9, false};
    for (const FoldedPlace& seen : folded.places) {
      if (seen.high != due.high) continue;
      const double off_deg =
          WrapSignedDeg(seen.deg - due.deg - fit.fit.late_deg(), cam.cycle_deg());
      if (std::abs(off_deg) >= std::abs(place.off_deg)) continue;
      place.off_deg = off_deg;
      place.is_deg = seen.deg;
    }
    place.seen = std::abs(place.off_deg) < 10;
    place.off_deg += fit.fit.late_deg();
    out.edges.push_back(place);
  }
}

void Measure(const CamFit& fit, const Folded& folded, double step_deg, TriggerMatch& out) {
  double squares = 0;
  int count = 0, least = folded.places.empty() ? 0 : folded.places[0].count;
  for (const FoldedPlace& place : folded.places) {
    squares += place.spread_deg * place.spread_deg;
    count += place.count;
    least = std::min(least, place.count);
    out.least_late_deg = std::min(out.least_late_deg, place.least_deg);
    out.most_late_deg = std::max(out.most_late_deg, place.most_deg);
  }
  out.teeth_seen = count;
  if (fit.fit.found == 0) return;
  out.late_deg = fit.fit.late_deg();
  out.least_late_deg += *out.late_deg;
  out.most_late_deg += *out.late_deg;
  const double mean_square =
      squares / std::max<double>(1, static_cast<double>(folded.places.size()));
  out.uncertain_deg =
      std::sqrt(mean_square / std::max(count, 1)) + step_deg / 2 / std::sqrt(std::max(count, 1));
  out.missing = fit.fit.missing;
  out.extra = fit.fit.extra + folded.odd;
}

struct Ways {
  CamFit best;
  Wiring wiring = Wiring::kCannotTell;
};

// A wheel whose spaces are its teeth, turned: a half-moon, even teeth as wide as their spaces.
bool LooksTheSameInverted(const profile::Wheel& wheel) {
  const auto is_at = [&](double deg, bool begin) {
    return std::ranges::any_of(wheel.teeth, [&](const auto& tooth) {
      return std::abs(WrapSignedDeg((begin ? tooth.begin_deg : tooth.end_deg) - deg, 360)) <
             kAsEvenDeg;
    });
  };
  return std::ranges::any_of(wheel.teeth, [&](const auto& first) {
    const double by_deg = first.begin_deg - wheel.teeth.front().end_deg;
    return std::ranges::all_of(wheel.teeth, [&](const auto& tooth) {
      return is_at(tooth.end_deg + by_deg, true) && is_at(tooth.begin_deg + by_deg, false);
    });
  });
}

// Both ways round; told where one leaves edges over, or leaves them at uneven distances.
Ways BothWays(const Cam& cam, const profile::Wheel& wheel, bool drawn_inverted) {
  const CamFit drawn = cam.Best(wheel, drawn_inverted), other = cam.Best(wheel, !drawn_inverted);
  const bool alike = drawn.left() == other.left() &&
                     std::abs(drawn.spread_deg() - other.spread_deg()) <= cam.as_even_deg();
  const bool never_told = !cam.as_wave() && LooksTheSameInverted(wheel);
  if (alike || never_told) return {drawn, Wiring::kCannotTell};
  if (IsBetter(drawn, other, cam.as_even_deg())) return {drawn, Wiring::kAsDrawn};
  return {other, Wiring::kReversed};
}

bool DrawnInverted(const profile::Bench& bench, int trigger) {
  if (!bench.controller || !IsCoil(Nth(bench.triggers, trigger))) return false;
  for (const profile::TriggerChannel& input : bench.controller->triggers) {
    if (check::TriggerAt(bench, input) == trigger)
      return check::LeadsReversed(bench, Nth(bench.triggers, trigger), input);
  }
  return false;
}

}  // namespace

TriggerMatch MatchCam(const profile::Bench& bench, const CapturedChannel& channel,
                      const std::vector<WheelPart>& parts, const CrankMatch& crank, double step_deg,
                      CycleZero& zero) {
  const Cam cam(bench, channel, crank, zero, step_deg);
  const bool drawn_inverted = DrawnInverted(bench, channel.about.trigger);
  TriggerMatch out;
  out.trigger = channel.about.trigger;
  out.name = cam.trigger().name;
  out.how = channel.how;
  out.changes = !channel.changes.empty();
  Ways ways = BothWays(cam, cam.trigger().wheel, drawn_inverted);
  out.is_as_built = ways.best.left() == 0 && ways.best.fit.found > 0;
  out.wheel = cam.trigger().wheel.name;
  for (const WheelPart& part : parts) {
    if (out.is_as_built) break;
    Ways other = BothWays(cam, part.wheel, drawn_inverted);
    if (other.best.left() >= ways.best.left()) continue;
    if (other.best.left() > 0 || other.best.spread_deg() > kAsEvenDeg) continue;
    ways = std::move(other);
    out.wheel = part.wheel.name;
    out.part = part.file;
  }
  out.wiring = ways.best.fit.found > 0 ? ways.wiring : Wiring::kCannotTell;
  const Folded folded = cam.FoldedBy(ways.best);
  Measure(ways.best, folded, step_deg, out);
  out.uncertain_deg += crank.either_way_deg;
  ListEdges(ways.best, folded, cam, out);
  if (!zero.by_cam && out.late_deg) {
    zero.deg += ways.best.zero_deg;
    zero.by_cam = true;
  }
  return out;
}

int TeethPerPeriod(const CapturedChannel& crank, const CapturedChannel& mark,
                   int edges_per_period) {
  std::map<int, int> times;
  const std::vector<SeenChange> marks = EdgesOf(mark, false, false),
                                teeth = EdgesOf(crank, false, false);
  const auto step = AsSize(std::max(edges_per_period, 1));
  int all = 0;
  for (std::size_t i = step; i < marks.size(); ++i, ++all) {
    const auto from = std::ranges::lower_bound(teeth, marks[i - step].t_ns, {}, &SeenChange::t_ns);
    const auto to = std::ranges::lower_bound(teeth, marks[i].t_ns, {}, &SeenChange::t_ns);
    ++times[static_cast<int>(to - from)];
  }
  const auto most =
      std::ranges::max_element(times, {}, [](const auto& entry) { return entry.second; });
  return most != times.end() && 5 * most->second >= 4 * all ? most->first : 0;
}

}  // namespace drycrank::capture
