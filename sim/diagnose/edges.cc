// SPDX-License-Identifier: Apache-2.0
#include "diagnose/edges.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <variant>

#include "diagnose/told_suspects.h"
#include "plant/sources.h"
#include "profile/told_controller.h"
#include "profile/triggers.h"
#include "standin/controller.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr double kGlitchCost = 12, kMostOfAWheel = 36;  // nats; a glitch as in weigh.h
constexpr double kMostOff = 24;  // of edges that are off: all of a wheel, in each cycle
constexpr double kStrange = 15;  // edges that nobody predicts: what is paid for them
constexpr double kMostDisturbed = 2, kUndisturbed = 3,
                 kOnItsWay = 2;        // nats: it fits, but much would
constexpr double kSteady = 0.85;       // share of the cycles in which an edge that stays comes
constexpr double kOnePlaceDeg = 0.5;   // of one that stays where it is
constexpr double kGap = 1.5;           // so many times as far to the next tooth as on the mean
constexpr double kOneMoreAlike = 4;    // nats: by chance an edge comes there once more
constexpr double kCrankIsKnown = 0.6;  // as check/cam_edges.cc has it

bool IsSilent(const std::vector<check::SeenEdge>& edges) { return edges.empty(); }

// Of how many are missing and too many, and of how far one is off at most.
double ShapeCost(const check::Fit& fit, double off_deg) {
  const double z = off_deg / Edges::kDeviationDeg;
  return kGlitchCost * (fit.missing + fit.extra) + std::min(z * z / 2, kMostOff);
}

// Does it reach the inputs by way of the wiring, or in a way that is not reckoned here?
bool MayDisturb(const profile::Fault& f) {
  if (f.Is<fault::PickupStrength>() || f.Is<fault::ExtraTooth>()) {
    return true;
  }
  if (profile::SettingOf(f) == "edge") return true;
  return std::visit([](const auto& kind) { return kind.kInto == profile::Into::kHarness; },
                    f.kind) ||
         f.Is<fault::NotFitted>();
}

bool IsThere(const profile::Fault& f, const Situation& situation) {
  return f.during.empty() || std::ranges::count(f.during, situation.name) > 0;
}

// Teeth as they pass the sensor, an eccentric wheel's shifted (fault.h).
void Wander(std::vector<Tooth>& teeth, const trigger::ChannelFault& worn) {
  const auto wander = [&](double& deg) {
    deg += worn.runout_deg * std::sin((deg - worn.runout_at_deg) * std::numbers::pi / 180);
  };
  for (Tooth& tooth : teeth) {
    if (worn.runout_deg == 0) break;
    wander(tooth.begin_deg);
    wander(tooth.end_deg);
  }
}

}  // namespace

Edges::Edges(const Predictor& predictor, const EdgesSeen* seen)
    : bench_(predictor.bench()),
      situations_(predictor.situations()),
      healthy_(predictor.healthy_values()) {
  if (seen == nullptr || seen->empty()) return;
  const profile::Controller& controller = *bench_.controller;
  const auto crank = WheelAt(controller.decoder.primary);
  if (!crank) return;
  wheels_.push_back(*crank);
  for (const int input : controller.decoder.cams) {
    if (const auto cam = WheelAt(input)) wheels_.push_back(*cam);
  }
  const std::vector<std::string> names = standin::ControllerValueNames(controller);
  for (std::size_t v = 0; v < names.size(); ++v) {
    const bool tells = names[v] == "engine_speed" || names[v] == "sync_state" ||
                       names[v] == "sync_reason" || names[v].starts_with("cam_angle.");
    if (tells) position_.push_back(v);
  }
  int turns = 1;
  for (const Wheel& wheel : wheels_) {
    turns = std::lcm(turns, static_cast<int>(std::lround(wheel.cycle_deg / 360)));
  }
  longest_deg_ = 360.0 * turns;
  for (std::size_t s = 0; s < seen->size(); ++s) AddMoment(s, (*seen)[s]);
}

// Nothing: no wheel is wired to it, or its edges have no place that does not depend on speed.
std::optional<Edges::Wheel> Edges::WheelAt(int input) const {
  const auto& channels = bench_.controller->triggers;
  if (input < 0 || static_cast<std::size_t>(input) >= channels.size()) return std::nullopt;
  const profile::TriggerChannel& channel = Nth(channels, input);
  Wheel wheel{.input = input, .trigger = check::TriggerAt(bench_, channel)};
  if (wheel.trigger < 0) return std::nullopt;
  const profile::Trigger& built = Nth(bench_.triggers, wheel.trigger);
  const bool coil = std::holds_alternative<profile::VariableReluctancePickup>(built.pickup);
  if (coil != (channel.conditioning == profile::Conditioning::kZeroCrossing)) return std::nullopt;
  if (coil) wheel.level = channel.edge == profile::ActiveEdge::kRising ? 1 : 0;
  wheel.reversed = check::LeadsReversed(bench_, built, channel);
  wheel.cycle_deg = check::WheelCycleDeg(built, bench_.engine);
  wheel.period_deg = built.shaft == profile::Shaft::kCrank ? 360 : wheel.cycle_deg;
  return wheel;
}

Edges::Seen Edges::SeenAt(const Wheel& wheel, const InputSeen& input) {
  Seen seen;
  // Of a coil the other edges come as its speed has it.
  const double strays = wheel.level < 0 ? input.strays[0] + input.strays[1]
                                        : input.strays[static_cast<std::size_t>(wheel.level)];
  seen.restless = strays * input.cycles >= 1 - 1e-9;
  seen.cycles = input.cycles;
  for (const EdgePlace& place : input.places) {
    if (wheel.level >= 0 && place.high != (wheel.level == 1)) continue;
    seen.edges.push_back({place.deg, place.high});
    const bool steady = place.share >= kSteady && place.spread_deg <= kOnePlaceDeg;
    if (steady) seen.steady.push_back(seen.edges.back());
    seen.restless = seen.restless || (place.share < kSteady && input.cycles > 2);
  }
  return seen;
}

void Edges::AddMoment(std::size_t situation, const EdgesAt& at) {
  if (at.empty()) return;
  Moment moment;
  moment.situation = situation;
  for (const Wheel& wheel : wheels_) {
    const InputSeen& input = Nth(at, wheel.input);
    if (input.cycles < 1) return;
    moment.seen.push_back(SeenAt(wheel, input));
    moment.due.push_back(DueAt(wheel, {}, situation));
  }
  moment.crank = moment.due[0].Best(moment.seen[0].edges, false);
  moment.healthy = CostIn(moment, {});
  moment.wired = moment.healthy > kNoticed ? WiredCost(moment) : moment.healthy;
  healthy_cost_ = std::max(healthy_cost_, moment.healthy);
  moments_.push_back(std::move(moment));
}

check::WheelFit Edges::DueAt(const Wheel& wheel, std::span<const profile::Fault> faults,
                             std::size_t situation, bool other_way) const {
  const Situation& at = situations_[situation];
  std::vector<const profile::Fault*> there;
  for (const profile::Fault& f : faults) {
    if (IsThere(f, at)) there.push_back(&f);
  }
  profile::Trigger turned = Nth(bench_.triggers, wheel.trigger);
  const trigger::ChannelFault worn = plant::WheelFaultOf(turned, there);
  const plant::PickupFault pickup = plant::PickupFaultOf(turned, there);
  double advance_deg = turned.advance_stimulus < 0 ? 0 : Nth(at.stimuli, turned.advance_stimulus);
  if (pickup.stuck_deg) advance_deg = *pickup.stuck_deg;
  turned.offset_deg += worn.late_deg - advance_deg;
  Wander(turned.wheel.teeth, worn);
  auto* hall = std::get_if<profile::HallPickup>(&turned.pickup);
  if (hall != nullptr && pickup.inverted) hall->low_at_tooth = !hall->low_at_tooth;
  const bool reversed = wheel.reversed != (hall == nullptr && pickup.inverted != other_way);
  std::vector<check::BuiltEdge> due = check::BuiltEdges(turned, bench_.engine, reversed);
  std::erase_if(due, [&](const check::BuiltEdge& edge) {
    return !worn.fitted || std::ranges::count(worn.missing_teeth, edge.tooth) > 0 ||
           (wheel.level >= 0 && edge.high != (wheel.level == 1));
  });
  return {std::move(due), wheel.cycle_deg, wheel.period_deg};
}

// What chance makes comes and goes. Edges that are off, too many or gone alike in each cycle: the
// more cycles agree, the less is it that.
double Edges::DisturbedCost(const Moment& moment, std::size_t w, const check::Fit& fit) const {
  const Seen& seen = moment.seen[w];
  const int left = fit.missing + fit.extra;
  const bool shows = seen.restless || left > 0;
  const double once = shows ? std::min(1.0 * left, kMostDisturbed) : kUndisturbed;
  const check::Fit steady = w == 0 ? moment.due[w].Best(seen.steady, false)
                                   : moment.due[w].At(seen.steady, fit.shift_deg);
  const double off_deg =
      w == 0 ? (steady.most_deg - steady.least_deg) / 2 : std::abs(steady.worst_deg);
  // Of those that come and go nobody knows which are gone.
  const int wrong = steady.extra + (seen.restless ? 0 : fit.missing);
  const double z = off_deg / kDeviationDeg;
  const double alike = std::min(kGlitchCost * wrong + z * z / 2, kOneMoreAlike);
  return std::min(once + alike * (seen.cycles - 1), kMostOfAWheel);
}

// Of one wheel's edges as they fit. Disturbed ones come and go; a phaser on its way has no place.
double Edges::WheelCost(const Moment& moment, const Due& due, std::size_t w, const check::Fit& fit,
                        double off_deg) const {
  const Seen& seen = moment.seen[w];
  const Way way = due.ways.empty() ? Way{} : due.ways[w];
  if (way.disturbed) return DisturbedCost(moment, w, fit);
  const double exact = ShapeCost(fit, off_deg) + (seen.restless ? kGlitchCost : 0);
  if (!way.moving) return std::min(exact, kMostOfAWheel);
  if (seen.restless || seen.edges.size() < moment.due[w].due().size()) return kOnItsWay;
  const check::Fit best = moment.due[w].Best(seen.edges, false);
  const double late_deg = WrapSignedDeg(best.late_deg() - fit.shift_deg, wheels_[w].period_deg);
  const bool within = late_deg > way.moving->low - 1 && late_deg < way.moving->high + 1;
  return best.whole() && within ? kOnItsWay : std::min(exact, kMostOfAWheel);
}

// The cams, with the crank so far in front; which turn it is nobody knows.
double Edges::TurnedCost(const Moment& moment, const Due& due, double crank_deg) const {
  double least = 1e300;
  for (double turn_deg = 0; turn_deg < longest_deg_; turn_deg += 360) {
    double cost = 0;
    for (std::size_t w = 1; w < wheels_.size(); ++w) {
      const bool own = !due.own.empty() && due.own[w];
      const check::WheelFit& wheel = own ? *due.own[w] : moment.due[w];
      const check::Fit fit = wheel.At(moment.seen[w].edges, crank_deg + turn_deg);
      cost += WheelCost(moment, due, w, fit, fit.worst_deg);
    }
    least = std::min(least, cost);
  }
  return least;
}

double Edges::CostIn(const Moment& moment, const Due& due) const {
  const bool own = !due.own.empty() && due.own[0];
  const check::WheelFit& wheel = own ? *due.own[0] : moment.due[0];
  const check::Fit fit = own ? wheel.Best(moment.seen[0].edges, false) : moment.crank;
  const double off_deg = (fit.most_deg - fit.least_deg) / 2;
  const double cost = WheelCost(moment, due, 0, fit, off_deg);
  const bool known =
      fit.found > 0 && fit.found >= kCrankIsKnown * static_cast<double>(wheel.due().size());
  if (!known) return cost;
  // A disturbed one stands where its own edges come.
  const Seen& seen = moment.seen[0];
  const bool disturbed = !due.ways.empty() && due.ways[0].disturbed && !seen.steady.empty();
  return cost + TurnedCost(moment, due,
                           disturbed ? wheel.Best(seen.steady, false).late_deg() : fit.late_deg());
}

// What wires can make of one cam's edges, with the crank so far in front.
double Edges::WiredAt(const Moment& moment, std::size_t w, double turned_deg) const {
  const std::vector<check::SeenEdge>& seen = moment.seen[w].edges;
  if (IsSilent(seen)) return 0;
  double least = kMostOfAWheel;
  const auto compare = [&](const check::WheelFit& wheel) {
    const check::Fit fit = wheel.At(seen, turned_deg);
    least = std::min(least, ShapeCost(fit, fit.worst_deg));
  };
  for (std::size_t v = 0; v < wheels_.size(); ++v) {
    if (wheels_[v].cycle_deg == wheels_[w].cycle_deg) compare(moment.due[v]);
  }
  if (wheels_[w].level >= 0) compare(DueAt(wheels_[w], {}, moment.situation, true));
  return least + (moment.seen[w].restless ? kGlitchCost : 0);
}

double Edges::WiredCost(const Moment& moment) const {
  const Seen& seen = moment.seen[0];
  if (IsSilent(seen.edges)) return 0;
  // What wires do they do in each cycle.
  const bool restless = std::ranges::any_of(moment.seen, &Seen::restless);
  double least = kStrange + (restless ? kGlitchCost : 0);
  const auto compare = [&](double cost, double late_deg) {
    double cams = 1e300;
    for (double turn_deg = 0; turn_deg < longest_deg_; turn_deg += 360) {
      double sum = 0;
      for (std::size_t w = 1; w < wheels_.size(); ++w) {
        sum += WiredAt(moment, w, late_deg + turn_deg);
      }
      cams = std::min(cams, sum);
    }
    least = std::min(least, cost + cams);
  };
  compare(ShapeCost(moment.crank, (moment.crank.most_deg - moment.crank.least_deg) / 2) +
              (seen.restless ? kGlitchCost : 0),
          moment.crank.late_deg());
  if (wheels_[0].level < 0) return least;
  const auto [fit, cost] = OtherWay(moment);
  compare(cost, fit.late_deg());
  return least;
}

// The crank's coil with its leads the other way round. The voltage rests at zero in a gap, after
// the edge that is due before it: that one comes anywhere in the gap, by noise and speed.
std::pair<check::Fit, double> Edges::OtherWay(const Moment& moment) const {
  const std::vector<check::BuiltEdge> all = DueAt(wheels_[0], {}, moment.situation, true).due();
  const Wheel& wheel = wheels_[0];
  const double even_deg =
      wheel.cycle_deg / static_cast<double>(std::max<std::size_t>(all.size(), 1));
  std::vector<check::BuiltEdge> due;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const double next_deg = all[(i + 1) % all.size()].deg;
    if (WrapDeg(next_deg - all[i].deg, wheel.cycle_deg) < kGap * even_deg) due.push_back(all[i]);
  }
  const int gaps = static_cast<int>(all.size() - due.size());
  check::Fit fit = check::WheelFit(std::move(due), wheel.cycle_deg, wheel.period_deg)
                       .Best(moment.seen[0].steady, false);
  fit.extra = std::max(0, fit.extra - gaps);
  return {fit, ShapeCost(fit, (fit.most_deg - fit.least_deg) / 2)};
}

int Edges::WheelOf(const profile::Fault& f) const {
  for (std::size_t w = 0; w < wheels_.size(); ++w) {
    if (Nth(bench_.triggers, wheels_[w].trigger).name == f.at) return static_cast<int>(w);
  }
  return -1;
}

Edges::Way Edges::WayOf(const profile::Fault& f, std::size_t w, std::size_t situation) const {
  Way way;
  way.disturbed = f.Is<fault::ElectricalNoise>();
  const auto* slow = f.As<fault::CamSlow>();
  if (slow == nullptr) return way;
  const int stimulus = Nth(bench_.triggers, wheels_[w].trigger).advance_stimulus;
  const double sent = Nth(situations_[situation].stimuli, stimulus);
  const AdvanceRange at = SlowAdvance(situations_, stimulus, situation, slow->deg_per_s);
  if (!at.IsKnown()) way.moving = AdvanceRange{sent - at.high, sent - at.low};
  return way;
}

double Edges::CostOf(std::span<const profile::Fault> faults, const Moment& moment) const {
  Due due{std::vector<std::optional<check::WheelFit>>(wheels_.size()),
          std::vector<Way>(wheels_.size())};
  bool any = false;
  for (const profile::Fault& f : faults) {
    const int at = WheelOf(f);
    if (at < 0 || !IsThere(f, situations_[moment.situation])) continue;
    const auto w = static_cast<std::size_t>(at);
    const Way way = WayOf(f, w, moment.situation);
    due.ways[w].disturbed = due.ways[w].disturbed || way.disturbed;
    if (way.moving) due.ways[w].moving = way.moving;
    if (!due.own[w]) due.own[w] = DueAt(wheels_[w], faults, moment.situation);
    any = true;
  }
  return any ? CostIn(moment, due) : moment.healthy;
}

double Edges::MostCost(std::span<const profile::Fault> faults) const {
  double most = 0;
  for (const Moment& moment : moments_) most = std::max(most, CostOf(faults, moment));
  return most;
}

// Where nothing was looked at, it may be.
bool Edges::IsPositionMoved(const ValueRows& rows, std::size_t s) const {
  if (rows[s].empty() || healthy_[s].empty()) return true;
  return std::ranges::any_of(position_,
                             [&](std::size_t v) { return !(rows[s][v] == healthy_[s][v]); });
}

Edges::Fit Edges::Judge(std::span<const profile::Fault> faults, const ValueRows& rows) const {
  if (moments_.empty() || healthy_cost_ <= 0) return {};
  const bool disturbs = std::ranges::any_of(faults, MayDisturb);
  double most = 0;
  for (const Moment& moment : moments_) {
    double cost = CostOf(faults, moment);
    if (disturbs && IsPositionMoved(rows, moment.situation)) cost = std::min(cost, moment.wired);
    most = std::max(most, cost);
  }
  return {-most, most > kStrange ? 1 : 0};
}

bool Edges::Explains(const Fit& fit) const { return fit.log_like >= -kNoticed; }
bool Edges::IsRight() const { return healthy_cost_ <= kNoticed; }
double Edges::Unknown() const { return -std::min(healthy_cost_, kStrange); }
bool Edges::Alike(const Fit& a, const Fit& b) const {
  return std::abs(a.log_like - b.log_like) <= kNoticed;
}

}  // namespace drycrank::diagnose
