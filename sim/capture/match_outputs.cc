// SPDX-License-Identifier: Apache-2.0
#include "capture/match_outputs.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::capture {
namespace {

constexpr double kSamePlaceDeg = 20;  // an output this near to a cylinder's place has it, ...
constexpr double kLeastPlaceDeg =
    1;  // ... or half as near as its two plugs are to each other, or this
constexpr double kOnceACycle = 1.5;  // pulses a cycle above which an output acts every turn
constexpr double kNotTold = 0.15;  // of half: a level that is on for half of the time may be either

struct Pulse {
  double on_ns = 0, off_ns = 0;
  bool after_hole = false;  // one before it may not have been seen
};

std::vector<Pulse> PulsesOf(const std::vector<SeenChange>& changes, bool on_high) {
  std::vector<Pulse> pulses;
  bool hole = false;
  for (std::size_t i = 1; i < changes.size(); ++i) {
    hole = hole || changes[i - 1].after_hole || changes[i].after_hole;
    if (changes[i].after_hole || changes[i - 1].high != on_high || changes[i].high == on_high)
      continue;
    pulses.push_back({changes[i - 1].t_ns, changes[i].t_ns, hole});
    hole = false;
  }
  return pulses;
}

// As said; else current and the shorter of two levels are on; where neither is, a driver that pulls
// low.
bool OnHigh(const CapturedChannel& channel) {
  if (channel.about.on != OnLevel::kFind) return channel.about.on == OnLevel::kHigh;
  if (channel.about.is_current) return true;
  double high_ns = 0, all_ns = 0;
  for (std::size_t i = 1; i < channel.changes.size(); ++i) {
    const double width_ns = channel.changes[i].t_ns - channel.changes[i - 1].t_ns;
    all_ns += width_ns;
    if (channel.changes[i - 1].high) high_ns += width_ns;
  }
  const double share = all_ns > 0 ? high_ns / all_ns : 0.5;
  return share < 0.5 - kNotTold;
}

// Mean and deviation of angles on a circle of `period_deg`.
struct OnCircle {
  double deg = 0, spread_deg = 0;
};
OnCircle MeanOnCircle(const std::vector<double>& deg, double period_deg) {
  const double to_rad = 2 * std::numbers::pi / period_deg;
  double x = 0, y = 0;
  for (const double d : deg) {
    x += std::cos(d * to_rad);
    y += std::sin(d * to_rad);
  }
  OnCircle mean{WrapDeg(std::atan2(y, x) / to_rad, period_deg), 0};
  double sum = 0, squares = 0;
  for (const double d : deg) {
    const double off = WrapSignedDeg(d - mean.deg, period_deg);
    sum += off;
    squares += off * off;
  }
  const double count = static_cast<double>(std::max<std::size_t>(deg.size(), 1));
  mean.deg = WrapDeg(mean.deg + sum / count, period_deg);
  mean.spread_deg = std::sqrt(std::max(0.0, squares / count - sum / count * (sum / count)));
  return mean;
}

class Outputs {
 public:
  Outputs(const profile::Bench& bench, const CrankMatch& crank, const CycleZero& zero)
      : bench_(bench), crank_(crank), zero_(zero), cycle_deg_(bench.engine.cycle_deg()) {}

  OutputMatch Measure(const CapturedChannel& channel) const {
    OutputMatch out;
    out.name = channel.about.name;
    out.role = channel.about.role;
    out.cylinder = channel.about.cylinder;
    out.on_high = OnHigh(channel);
    std::vector<double> ends_deg;
    std::vector<bool> after_hole;
    double width_ns = 0;
    bool unplaced = false;  // one before it was seen where the crank was not
    for (const Pulse& pulse : PulsesOf(channel.changes, out.on_high)) {
      std::size_t stretch = 0;
      const auto end = crank_.track.DegAt(pulse.off_ns, &stretch);
      unplaced = unplaced || pulse.after_hole || !end;
      if (!end || stretch != zero_.stretch) continue;
      ends_deg.push_back(*end - zero_.deg);
      after_hole.push_back(std::exchange(unplaced, false));
      const double ms = (pulse.off_ns - pulse.on_ns) * 1e-6;
      width_ns += ms;
      out.least_width_ms = ends_deg.size() == 1 ? ms : std::min(out.least_width_ms, ms);
      out.most_width_ms = std::max(out.most_width_ms, ms);
    }
    out.pulses = static_cast<int>(ends_deg.size());
    if (ends_deg.empty()) return out;
    out.width_ms = width_ns / out.pulses;
    Place(ends_deg, after_hole, out);
    return out;
  }

  // Top dead centre of firing, or of intake, in the cycle.
  double DeadCentreDeg(Role role, int cylinder) const {
    const auto& order = bench_.engine.firing_order;
    const auto at = std::ranges::find(order, cylinder);
    if (at == order.end()) return 0;
    const double firing_deg = Nth(bench_.engine.firing_angles_deg, at - order.begin());
    const bool is_intake = role == Role::kInjector && bench_.engine.strokes == 4;
    return WrapDeg(firing_deg + (is_intake ? 360 : 0), cycle_deg_);
  }

 private:
  // Twice in a cycle where it comes at every turn; the place is then known to a turn only.
  void Place(const std::vector<double>& ends_deg, const std::vector<bool>& after_hole,
             OutputMatch& out) const {
    const double cycles = (ends_deg.back() - ends_deg.front()) / cycle_deg_;
    out.per_cycle = cycles > 0.2 ? (out.pulses - 1) / cycles : 1;
    const double period_deg = out.per_cycle > kOnceACycle && cycle_deg_ > 360 ? 360 : cycle_deg_;
    const OnCircle mean = MeanOnCircle(ends_deg, period_deg);
    out.end_deg = mean.deg;
    out.spread_deg = mean.spread_deg;
    out.before_deg = -WrapSignedDeg(mean.deg - DeadCentreDeg(out.role, out.cylinder), period_deg);
    for (std::size_t i = 1; i < ends_deg.size(); ++i) {
      const double turned_deg = ends_deg[i] - ends_deg[i - 1];
      if (turned_deg < 0.5 * period_deg) ++out.extra;
      if (turned_deg > 1.5 * period_deg && !after_hole[i])
        out.missing += static_cast<int>(std::lround(turned_deg / period_deg)) - 1;
    }
  }

  const profile::Bench& bench_;
  const CrankMatch& crank_;
  const CycleZero& zero_;
  double cycle_deg_;
};

double PeriodOf(const OutputMatch& output, double cycle_deg) {
  return output.per_cycle > kOnceACycle && cycle_deg > 360 ? 360 : cycle_deg;
}

double SamePlaceDeg(const profile::Bench& bench, Role role) {
  const double apart_deg = role == Role::kInjector ? 0 : std::abs(TrailingDegOf(bench));
  return apart_deg == 0 ? kSamePlaceDeg : std::clamp(apart_deg / 2, kLeastPlaceDeg, kSamePlaceDeg);
}

// What most of one kind have in common: of all their own delays the one that most share; of those
// as frequent the least.
std::optional<double> InCommon(const std::vector<OutputMatch*>& outputs,
                               const std::vector<double>& off_deg, double cycle_deg,
                               double same_deg) {
  std::optional<double> best;
  int best_count = 0;
  for (std::size_t i = 0; i < outputs.size(); ++i) {
    int count = 0;
    double sum = 0;
    for (std::size_t j = 0; j < outputs.size(); ++j) {
      const double apart = WrapSignedDeg(off_deg[j] - off_deg[i], PeriodOf(*outputs[j], cycle_deg));
      if (std::abs(apart) > same_deg) continue;
      ++count;
      sum += apart;
    }
    const double mean = off_deg[i] + sum / count;
    if (count > best_count || (count == best_count && std::abs(mean) < std::abs(*best) - 0.5))
      best = mean;
    best_count = std::max(best_count, count);
  }
  return best;
}

// Of one kind of output: how far before its dead centre each is due, and what most are late by.
struct OfRole {
  Role role = Role::kCoil;
  double due_before_deg = 0;
  std::optional<double> late_deg = {};
};

bool HasPlace(const Outputs& all, const profile::Bench& bench, const OfRole& kind, int cylinder,
              const OutputMatch& output) {
  const double due_deg =
      all.DeadCentreDeg(kind.role, cylinder) - kind.due_before_deg + kind.late_deg.value_or(0);
  const double period_deg = PeriodOf(output, bench.engine.cycle_deg());
  return std::abs(WrapSignedDeg(output.end_deg - due_deg, period_deg)) <=
         SamePlaceDeg(bench, kind.role);
}

// Whose place an output has: its own, of its kind another cylinder's, of the other plugs one's.
void NameWhoseItIs(const Outputs& all, const profile::Bench& bench, const OfRole& own,
                   const OfRole* other_plugs, OutputMatch& output) {
  output.fires_as = 0;
  output.fires_as_role = own.role;
  if (HasPlace(all, bench, own, output.cylinder, output)) {
    output.fires_as = output.cylinder;
    return;
  }
  for (const OfRole* kind : {&own, other_plugs}) {
    for (const int cylinder : bench.engine.firing_order) {
      if (kind == nullptr || output.fires_as > 0) break;
      if (!HasPlace(all, bench, *kind, cylinder, output)) continue;
      output.fires_as = cylinder;
      output.fires_as_role = kind->role;
    }
  }
}

// How far each is off, and what most have in common.
void Compare(const Outputs& all, const profile::Bench& bench, std::vector<OutputMatch>& outputs,
             OfRole& kind) {
  const double cycle_deg = bench.engine.cycle_deg();
  std::vector<OutputMatch*> of_role;
  std::vector<double> off_deg;
  for (OutputMatch& output : outputs) {
    if (output.role != kind.role || output.pulses < 2) continue;
    const double due_deg = all.DeadCentreDeg(kind.role, output.cylinder) - kind.due_before_deg;
    output.off_deg = WrapSignedDeg(output.end_deg - due_deg, PeriodOf(output, cycle_deg));
    of_role.push_back(&output);
    off_deg.push_back(*output.off_deg);
  }
  kind.late_deg = InCommon(of_role, off_deg, cycle_deg, SamePlaceDeg(bench, kind.role));
}

void NameAll(const Outputs& all, const profile::Bench& bench, const OfRole& kind,
             const OfRole* other_plugs, std::vector<OutputMatch>& outputs) {
  for (OutputMatch& output : outputs) {
    if (output.role == kind.role && output.off_deg) {
      NameWhoseItIs(all, bench, kind, other_plugs, output);
    }
  }
}

bool AreElsewhere(const std::vector<OutputMatch>& outputs, Role role) {
  bool any = false;
  for (const OutputMatch& output : outputs) {
    if (output.role != role || !output.off_deg) continue;
    if (output.fires_as == 0 || output.fires_as == output.cylinder ||
        output.fires_as_role != role) {
      return false;
    }
    any = true;
  }
  return any;
}

// Two, each at the other's place if what they have in common is nothing.
bool AsExchanged(const Outputs& all, const profile::Bench& bench, OfRole kind,
                 const std::vector<OutputMatch>& outputs) {
  std::vector<const OutputMatch*> two;
  for (const OutputMatch& output : outputs) {
    if (output.role == kind.role && output.off_deg) two.push_back(&output);
  }
  if (two.size() != 2) return false;
  kind.late_deg = 0;
  return HasPlace(all, bench, kind, two[0]->cylinder, *two[1]) &&
         HasPlace(all, bench, kind, two[1]->cylinder, *two[0]);
}

// An odd-firing twin's are not off alike.
bool AreCrossed(const Outputs& all, const profile::Bench& bench, const OfRole& kind,
                const std::vector<OutputMatch>& outputs) {
  if (!AsExchanged(all, bench, kind, outputs)) return false;
  std::vector<double> off_deg;
  for (const OutputMatch& output : outputs) {
    if (output.role == kind.role && output.off_deg) off_deg.push_back(*output.off_deg);
  }
  return std::abs(WrapSignedDeg(off_deg[0] - off_deg[1], bench.engine.cycle_deg())) >
         SamePlaceDeg(bench, kind.role);
}

// Coils that are all off alike, where trailing ones that are less off give each another cylinder's
// place: it is the coils that are exchanged, not the trailing ones.
void TakeFromTrailing(const Outputs& all, const profile::Bench& bench, const OfRole& trailing,
                      OfRole& coils, std::vector<OutputMatch>& outputs) {
  if (!coils.late_deg || !trailing.late_deg ||
      std::abs(*trailing.late_deg) >= std::abs(*coils.late_deg)) {
    return;
  }
  const OfRole by_trailing{coils.role, coils.due_before_deg, trailing.late_deg};
  NameAll(all, bench, by_trailing, nullptr, outputs);
  if (AreElsewhere(outputs, coils.role)) coils.late_deg = trailing.late_deg;
}

// One standard error of the coils' mean, and a sample.
double UncertainDeg(const std::vector<OutputMatch>& outputs, double step_deg) {
  double squares = 0, count = 0;
  for (const OutputMatch& output : outputs) {
    if (output.role != Role::kCoil || output.pulses < 2) continue;
    squares += output.spread_deg * output.spread_deg * output.pulses;
    count += output.pulses;
  }
  return count == 0 ? 0 : std::sqrt(squares) / count + step_deg / 2;
}

// By what the coils are late by, where each then has a place and some another's: two trailing coils
// that are crossed are off alike, too. Else by what they have in common themselves.
void NameTrailing(const Outputs& all, const profile::Bench& bench, const OfRole& coils,
                  OfRole& trailing, std::vector<OutputMatch>& outputs) {
  if (!trailing.late_deg) return;
  const OfRole* other_plugs = coils.late_deg ? &coils : nullptr;
  if (other_plugs != nullptr) {
    const OfRole by_coils{trailing.role, trailing.due_before_deg, coils.late_deg};
    NameAll(all, bench, by_coils, other_plugs, outputs);
    bool each = true, crossed = false;
    for (const OutputMatch& output : outputs) {
      if (output.role != trailing.role || !output.off_deg) continue;
      each = each && output.fires_as > 0;
      crossed = crossed || output.fires_as != output.cylinder;
    }
    if (each && crossed) {
      trailing.late_deg = coils.late_deg;
      return;
    }
  }
  NameAll(all, bench, trailing, other_plugs, outputs);
}

}  // namespace

std::optional<double> AdvanceOf(const profile::Bench& bench, const MatchOptions& options) {
  if (options.fixed_advance_deg) return options.fixed_advance_deg;
  if (bench.engine.advance_deg) return bench.engine.advance_deg;
  if (bench.controller && bench.controller->decoder.written.Has("advance_deg"))
    return bench.controller->decoder.advance_deg;
  return std::nullopt;
}

double TrailingDegOf(const profile::Bench& bench) {
  if (bench.engine.trailing_deg) return *bench.engine.trailing_deg;
  return bench.controller ? bench.controller->decoder.trailing_deg.value_or(0) : 0;
}

OutputsMatch MatchOutputs(const profile::Bench& bench, const std::vector<CapturedChannel>& channels,
                          const CrankMatch& crank, const CycleZero& zero, double step_deg,
                          const MatchOptions& options) {
  OutputsMatch out;
  const Outputs all(bench, crank, zero);
  for (const CapturedChannel& channel : channels) {
    const Role role = channel.about.role;
    if (role != Role::kTrigger && role != Role::kLevel) out.outputs.push_back(all.Measure(channel));
  }
  const auto advance = AdvanceOf(bench, options);
  out.advance_known = advance.has_value();
  OfRole coils{Role::kCoil, advance.value_or(0)};
  OfRole trailing{Role::kTrailingCoil, advance.value_or(0) - TrailingDegOf(bench)};
  OfRole injectors{Role::kInjector,
                   bench.controller ? bench.controller->decoder.injection_end_deg : 60};
  for (OfRole* kind : {&coils, &trailing, &injectors}) {
    Compare(all, bench, out.outputs, *kind);
    if (AreCrossed(all, bench, *kind, out.outputs)) kind->late_deg = 0;
  }
  TakeFromTrailing(all, bench, trailing, coils, out.outputs);
  NameAll(all, bench, coils, trailing.late_deg ? &trailing : nullptr, out.outputs);
  NameTrailing(all, bench, coils, trailing, out.outputs);
  NameAll(all, bench, injectors, nullptr, out.outputs);
  out.coils_late_deg = coils.late_deg;
  out.trailing_late_deg = trailing.late_deg;
  out.injectors_late_deg = injectors.late_deg;
  out.coils_as_exchanged = AsExchanged(all, bench, coils, out.outputs);
  out.injectors_as_exchanged = AsExchanged(all, bench, injectors, out.outputs);
  out.coils_uncertain_deg = UncertainDeg(out.outputs, step_deg) + crank.either_way_deg;
  out.coils_once_a_cycle = std::ranges::any_of(out.outputs, [](const OutputMatch& o) {
    return o.role == Role::kCoil && o.pulses > 1 && o.per_cycle < kOnceACycle;
  });
  return out;
}

}  // namespace drycrank::capture
