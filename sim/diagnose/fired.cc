// SPDX-License-Identifier: Apache-2.0
#include "diagnose/fired.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "diagnose/told_suspects.h"
#include "profile/controller_setup.h"
#include "profile/told_controller.h"
#include "standin/controller.h"
#include "standin/pattern.h"
#include "standin/references.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr double kSparkDeg = Fired::kSparkDeg, kInjectionDeg = 3;
constexpr double kMostCost = 12;  // nats, as a glitch (weigh.h)
constexpr double kNoticed = 3;    // nats: less is what a wheel and its sensor do
constexpr double kAlikeDeg = 2;   // of two plans
constexpr double kNever = std::numeric_limits<double>::quiet_NaN();
constexpr double kSteadyDeg = 1;      // deviation of what comes at one angle each time
constexpr int kMostContradicted = 2;  // the readings say it already

double DeviationOf(std::size_t i, std::size_t cylinders) {
  const bool injection = i >= cylinders && i < 2 * cylinders;
  return injection ? kInjectionDeg : kSparkDeg;
}

double CostOf(double late_deg, double deviation) {
  const double z = late_deg / deviation;
  return std::min(z * z / 2, kMostCost);
}

// Where the speed comes and goes, as with a tooth missing, it fires too, but at no degrees that are
// known.
bool FiresAtAll(const ControllerValues& row, std::size_t sync, const profile::Decoder& decoder) {
  if (row.empty() || !row[sync].is_value() || row[sync].low() < 3) return false;
  return row[0].low() > 0 && row[0].low() <= decoder.rev_limit_rpm;
}

}  // namespace

Fired::Fired(const Predictor& predictor, const FiredSeen* seen)
    : bench_(predictor.bench()), seen_(seen), healthy_(predictor.healthy_values()) {
  const profile::Controller& controller = *bench_.controller;
  cycle_deg_ = controller.decoder.strokes == 2 ? 360 : 720;
  const std::vector<std::string> names = standin::ControllerValueNames(controller);
  sync_ = static_cast<std::size_t>(std::ranges::find(names, "sync_state") - names.begin());
  for (std::size_t v = 0; v < names.size(); ++v) {
    const bool tells = names[v] == "engine_speed" || names[v] == "sync_state" ||
                       names[v] == "sync_reason" || names[v].starts_with("cam_angle.");
    if (tells) position_.push_back(v);
  }
  const int primary = controller.decoder.primary;
  if (controller.triggers.empty()) return;
  const std::size_t teeth = Nth(controller.triggers, primary).wheel.teeth.size();
  pitch_deg_ = 360.0 / static_cast<double>(std::max<std::size_t>(1, teeth));
  FindAlike();
}

void Fired::FindAlike() {
  const profile::Controller& controller = *bench_.controller;
  const standin::Pattern crank(Nth(controller.triggers, controller.decoder.primary), cycle_deg_,
                               controller.decoder.ratio_tolerance);
  if (crank.Twin() < 0) return;
  for (const standin::Reference& reference : standin::FindReferences(controller, crank).taken) {
    const profile::TriggerChannel& channel =
        Nth(controller.triggers, Nth(controller.decoder.cams, reference.cam));
    if (reference.turns_only || channel.by_level) continue;
    alike_deg_ = WrapDeg(crank.position_deg(crank.Twin()) - crank.position_deg(0), 360);
    window_deg_ = standin::NarrowWindowDeg(crank, channel.window_deg);
    placing_.insert(placing_.end(), {channel.name, TriggerBehind(bench_, channel)});
  }
}

double Fired::WholeAlikeDeg(double late_deg) const {
  return alike_deg_ > 0 ? alike_deg_ * std::round(late_deg / alike_deg_) : 0;
}

// Of a trigger that tells the place where the primary's wheel does not.
bool Fired::IsOfPlacing(const profile::Fault& f) const {
  const auto* told = f.As<fault::Told>();
  if (!f.Is<fault::WheelOffset>() && (told == nullptr || !told->offset_deg)) return false;
  return std::ranges::count(placing_, f.at) > 0;
}

// How far the crank is in front of what the controller takes it for.
double Fired::PositionLateDeg(const profile::Fault& f) const {
  const profile::Controller& controller = *bench_.controller;
  const int primary = controller.decoder.primary;
  if (controller.triggers.empty()) return 0;
  const profile::TriggerChannel& channel = Nth(controller.triggers, primary);
  if (const auto* told = f.As<fault::Told>()) {
    if (IsOfPlacing(f)) {
      const int at = profile::IndexOf(controller.triggers, f.at);
      return WholeAlikeDeg(Nth(controller.triggers, at).offset_deg - *told->offset_deg);
    }
    const bool its = f.at == channel.name && told->offset_deg;
    const double late_deg = its ? channel.offset_deg - *told->offset_deg : 0;
    return late_deg - WholeAlikeDeg(late_deg);
  }
  if (IsTakenForTheOtherTurn(f)) return 360;
  if (f.Is<fault::PickupInverted>() && IsOfThePrimary(f)) return OtherSideDeg();
  const auto* late = f.As<fault::WheelOffset>();
  if (late != nullptr && IsOfPlacing(f)) return WholeAlikeDeg(late->deg);
  if (late == nullptr || f.at != TriggerBehind(bench_, channel)) return 0;
  return late->deg - WholeAlikeDeg(late->deg);
}

// Of a cam that tells the turns apart: do its edges come where those of the other turn are due?
bool Fired::IsTakenForTheOtherTurn(const profile::Fault& f) const {
  const int cam = profile::PhaseCam(*bench_.controller);
  if (cam < 0 || cycle_deg_ < 720) return false;
  const profile::TriggerChannel& told = Nth(bench_.controller->triggers, cam);
  if (f.at != TriggerBehind(bench_, told)) return false;
  profile::TriggerChannel seen = told;
  if (const auto* late = f.As<fault::WheelOffset>()) {
    seen.offset_deg = WrapDeg(seen.offset_deg + late->deg, cycle_deg_);
  } else if (f.Is<fault::PickupInverted>() && seen.point != profile::ToothPoint::kCentre) {
    const bool begin = seen.point == profile::ToothPoint::kBegin;
    seen.point = begin ? profile::ToothPoint::kEnd : profile::ToothPoint::kBegin;
  } else {
    return false;
  }
  const auto due = standin::ActiveEdgesDeg(told, cycle_deg_);
  const auto come = standin::ActiveEdgesDeg(seen, cycle_deg_);
  const auto fit = [&](double shift_deg) {
    return standin::EdgesFit(come, due, shift_deg, told.window_deg, cycle_deg_);
  };
  return !fit(0) && fit(360);
}

bool Fired::IsOfThePrimary(const profile::Fault& f) const {
  const profile::Controller& controller = *bench_.controller;
  if (controller.triggers.empty()) return false;
  return f.at == TriggerBehind(bench_, Nth(controller.triggers, controller.decoder.primary));
}

// From the edges that the primary is told to those at the other side of its teeth, on the mean.
double Fired::OtherSideDeg() const {
  const profile::Controller& controller = *bench_.controller;
  const profile::TriggerChannel& told = Nth(controller.triggers, controller.decoder.primary);
  if (told.point == profile::ToothPoint::kCentre || told.wheel.teeth.empty()) return 0;
  double sum_deg = 0;
  for (const Tooth& tooth : told.wheel.teeth) sum_deg += tooth.end_deg - tooth.begin_deg;
  const double width_deg = sum_deg / static_cast<double>(told.wheel.teeth.size());
  return told.point == profile::ToothPoint::kBegin ? width_deg : -width_deg;
}

// Each spark by how late the tooth there comes.
void Fired::Wander(const profile::Fault& f, Plan& plan) const {
  const auto* runout = f.As<fault::WheelRunout>();
  if (runout == nullptr || !IsOfThePrimary(f)) return;
  const profile::Controller& controller = *bench_.controller;
  const double offset_deg = Nth(controller.triggers, controller.decoder.primary).offset_deg;
  for (double& deg : plan.due_deg) {
    const double at_deg = deg - offset_deg - runout->at_deg;
    deg = WrapDeg(deg + runout->deg * std::sin(at_deg * std::numbers::pi / 180), cycle_deg_);
  }
}

// Came all of them at one angle each time?
bool Fired::IsSteady() const {
  return std::ranges::all_of(
      *seen_, [](const FiredAt& at) { return !at.restless && at.spread_deg < kSteadyDeg; });
}

// Tables, layouts, sensors, and what is reckoned above, leave the crank's edges where they are.
bool Fired::MayMoveEdges(const profile::Fault& f) const {
  if (f.Is<fault::Calibration>() || f.Is<fault::Layout>() || f.Is<fault::WheelOffset>()) {
    return false;
  }
  if (f.Is<fault::SensorOffset>() || f.Is<fault::SensorStuck>()) return false;
  if (f.Is<fault::WheelRunout>()) return IsOfThePrimary(f);
  const std::string_view setting = profile::SettingOf(f);
  return setting.empty() || setting == "edge" || setting == "wheel";
}

Fired::Plan Fired::PlanOf(std::span<const profile::Fault> faults) const {
  profile::Controller told = *bench_.controller;
  Plan plan;
  double late_deg = 0;
  for (const profile::Fault& f : faults) {
    profile::Tell(f, told);
    late_deg += PositionLateDeg(f);
    if (MayMoveEdges(f)) plan.slack_deg = pitch_deg_;
    plan.by_chance = plan.by_chance || f.Is<fault::ElectricalNoise>();
  }
  const profile::Decoder& d = told.decoder;
  const profile::Engine& engine = bench_.engine;
  const double intake_deg = d.strokes == 2 ? 0 : 360;
  const auto fires_at = [&](int cylinder) {
    const auto at = std::ranges::find(d.firing_order, cylinder) - d.firing_order.begin();
    return at < static_cast<std::ptrdiff_t>(d.firing_angles_deg.size())
               ? d.firing_angles_deg[static_cast<std::size_t>(at)]
               : 0;
  };
  for (const int cylinder : engine.firing_order) {
    plan.due_deg.push_back(WrapDeg(fires_at(cylinder) - d.advance_deg + late_deg, cycle_deg_));
  }
  for (const int cylinder : engine.firing_order) {
    plan.due_deg.push_back(
        WrapDeg(fires_at(cylinder) + intake_deg - d.injection_end_deg + late_deg, cycle_deg_));
  }
  for (std::size_t i = 0; d.trailing_deg && i < engine.firing_order.size(); ++i) {
    plan.due_deg.push_back(WrapDeg(plan.due_deg[i] + *d.trailing_deg, cycle_deg_));
  }
  for (const profile::Fault& f : faults) Wander(f, plan);
  return plan;
}

bool Fired::IsFiring(const ControllerValues& row) const {
  return FiresAtAll(row, sync_, bench_.controller->decoder) && row[0].is_value();
}

// Without a cam nothing else would show it.
bool Fired::IsPositionMoved(const ValueRows& rows) const {
  if (bench_.controller->decoder.cams.empty()) return true;
  for (std::size_t s = 0; s < rows.size(); ++s) {
    if (rows[s].empty() || healthy_[s].empty()) continue;
    const auto same = [&](std::size_t v) { return rows[s][v] == healthy_[s][v]; };
    if (!std::ranges::all_of(position_, same)) return true;
  }
  return false;
}

std::vector<double> Fired::Late(const Plan& plan, const ValueRows& rows) const {
  const std::vector<int>& order = bench_.engine.firing_order;
  std::vector<double> sum(plan.due_deg.size(), 0), count(plan.due_deg.size(), 0);
  for (std::size_t s = 0; s < seen_->size(); ++s) {
    if (!IsFiring(rows[s])) continue;
    const auto take = [&](const std::map<int, double>& seen, std::size_t first) {
      for (std::size_t i = 0; i < order.size(); ++i) {
        const auto at = seen.find(order[i]);
        if (at == seen.end()) continue;
        // Half a cycle off is one thing, whichever side it lies.
        const double late = WrapSignedDeg(at->second - plan.due_deg[first + i] + 5, cycle_deg_) - 5;
        sum[first + i] += late;
        ++count[first + i];
      }
    };
    take((*seen_)[s].sparks_deg, 0);
    take((*seen_)[s].injections_deg, order.size());
    if (plan.due_deg.size() > 2 * order.size()) take((*seen_)[s].trailing_deg, 2 * order.size());
  }
  for (std::size_t i = 0; i < sum.size(); ++i) sum[i] = count[i] > 0 ? sum[i] / count[i] : kNever;
  return sum;
}

// Situations in which it fired and should not, or should and did not. A controller without its
// supply (a row that is none) fires nothing.
int Fired::Contradicted(const ValueRows& rows) const {
  int contradicted = 0;
  for (std::size_t s = 0; s < seen_->size(); ++s) {
    if (!rows[s].empty() && !rows[s][sync_].is_value()) continue;
    const bool fires = FiresAtAll(rows[s], sync_, bench_.controller->decoder);
    contradicted += fires == (*seen_)[s].Any() ? 0 : 1;
  }
  return std::min(contradicted, kMostContradicted);
}

Fired::Fit Fired::Judge(std::span<const profile::Fault> faults, const ValueRows& rows) const {
  Fit fit;
  if (seen_ == nullptr) return fit;
  Plan plan = PlanOf(faults);
  if (plan.by_chance && IsSteady()) plan.slack_deg = 0;
  std::vector<double> late = Late(plan, rows);
  const std::size_t cylinders = bench_.engine.firing_order.size();
  if (plan.slack_deg > 0 && !std::isnan(late[0]) && IsPositionMoved(rows)) {
    const double moved = std::clamp(late[0], -plan.slack_deg, plan.slack_deg);
    for (double& deg : late) deg -= moved;
    for (double& deg : plan.due_deg) deg += moved;
    fit.paid = std::abs(moved) > kSparkDeg ? std::log(2 * plan.slack_deg / kSparkDeg) : 0;
    fit.log_like -= fit.paid;
  }
  for (std::size_t i = 0; i < late.size(); ++i) {
    if (std::isnan(late[i])) continue;
    const double cost = CostOf(late[i], DeviationOf(i, cylinders));
    fit.log_like -= cost;
    fit.surprises += cost >= kMostCost ? 1 : 0;
  }
  fit.log_like -= kMostCost * Contradicted(rows);
  const bool fires =
      std::ranges::any_of(rows, [&](const ControllerValues& row) { return IsFiring(row); });
  if (fires) fit.due_deg = std::move(plan.due_deg);
  fit.is_off = std::ranges::all_of(rows, &ControllerValues::empty);
  return fit;
}

bool Fired::Explains(const Fit& fit) const { return fit.log_like + fit.paid > -kNoticed; }

bool Fired::IsRight(const ValueRows& healthy) const { return Explains(Judge({}, healthy)); }

// Each distance at which some of them came is one coincidence.
double Fired::Unknown(const ValueRows& healthy) const {
  if (seen_ == nullptr) return 0;
  const std::vector<double> late = Late(PlanOf({}), healthy);
  const std::size_t cylinders = bench_.engine.firing_order.size();
  std::vector<double> distances;
  double log_like = -kMostCost * Contradicted(healthy) / 2;
  for (std::size_t i = 0; i < late.size(); ++i) {
    if (std::isnan(late[i])) continue;
    const double cost = CostOf(late[i], DeviationOf(i, cylinders));
    if (cost < kMostCost) {
      log_like -= cost;
      continue;
    }
    const bool known = std::ranges::any_of(distances, [&](double deg) {
      return std::abs(WrapSignedDeg(deg - late[i], cycle_deg_)) < 2 * kInjectionDeg;
    });
    if (known) continue;
    distances.push_back(late[i]);
    log_like -= kMostCost;
  }
  return log_like;
}

bool Fired::Alike(const Fit& a, const Fit& b) const {
  if (a.is_off != b.is_off && a.due_deg.empty() != b.due_deg.empty()) return false;
  if (a.due_deg.size() != b.due_deg.size()) return a.due_deg.empty() || b.due_deg.empty();
  for (std::size_t i = 0; i < a.due_deg.size(); ++i) {
    if (std::abs(WrapSignedDeg(a.due_deg[i] - b.due_deg[i], cycle_deg_)) > kAlikeDeg) return false;
  }
  return true;
}

}  // namespace drycrank::diagnose
