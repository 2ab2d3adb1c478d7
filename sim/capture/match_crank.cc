// SPDX-License-Identifier: Apache-2.0
#include "capture/match_crank.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "capture/settled_wave.h"
#include "check/edge_places.h"
#include "types/nth.h"

namespace drycrank::capture {
namespace {

constexpr double kMuchBetter =
    1.5;  // a part must fit the better by this to go before the bench's own
constexpr double kNowAndThen = 0.005;    // of the edges may be missing or too many
constexpr std::size_t kToCompare = 160;  // edges: more than a turn of any usual wheel
constexpr int kFewTeeth = 12;            // less exactly laid than many
constexpr double kFirm = 0.0005;         // a cost below this is this wheel and no other
constexpr double kExact = 0.002;         // for a short way
constexpr double kMostly = 0.9;          // of the edges are followed
constexpr double kFewer = 0.1;           // of the strays of another reading
constexpr double kGone = 0.8;            // of the turns without it: a tooth is gone
constexpr double kStraySamples = 2.2;    // an edge lies anywhere between two, and jitters

double StrayNs(const CapturedChannel& channel) { return kStraySamples * channel.step_ns; }

// Is the coil's plus on the input's minus, as drawn?
bool DrawnReversed(const profile::Bench& bench, int trigger) {
  if (!bench.controller) return false;
  for (const profile::TriggerChannel& input : bench.controller->triggers) {
    if (check::TriggerAt(bench, input) == trigger)
      return check::LeadsReversed(bench, Nth(bench.triggers, trigger), input);
  }
  return false;
}

bool IsWave(const profile::Bench& bench, const CapturedChannel& channel) {
  const profile::Trigger& trigger = Nth(bench.triggers, channel.about.trigger);
  const bool is_coil = std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
  return channel.is_wave || (is_coil && channel.is_digital);
}

WheelTried Try(const CapturedChannel& channel, WheelPattern pattern, const std::string& file,
               std::size_t window = kToCompare) {
  WheelTried tried{std::move(pattern), file, {}, false, 1, 0};
  if (tried.pattern.both_edges) {
    tried.laid = BestLaid(channel.changes, tried.pattern, window);
    tried.other_way_cost = tried.laid.other_polarity_cost;
    return tried;
  }
  const Laid falls = BestLaid(EdgesOf(channel, false, false), tried.pattern, window);
  const Laid rises = BestLaid(EdgesOf(channel, false, true), tried.pattern, window);
  tried.steep_rises = rises.cost < falls.cost;
  tried.laid = tried.steep_rises ? rises : falls;
  tried.other_way_cost = tried.steep_rises ? falls.cost : rises.cost;
  return tried;
}

// Even teeth lie well on anything between two gaps: they must do so all along.
bool FitsAllAlong(const CapturedChannel& channel, const WheelTried& tried) {
  if (!IsEven(tried.pattern) && tried.pattern.size() > 2) return true;
  const CrankTrack track =
      Follow(EdgesOf(channel, tried.pattern.both_edges, tried.steep_rises), tried.pattern, StrayNs(channel));
  return track.placed > 0 && track.missing + track.extra <= kNowAndThen * track.placed;
}

// Of a wheel whose steep crossings are as many as its flat ones, both ways round lay alike.
Wiring WiringOf(const profile::Bench& bench, int trigger, const WheelTried& tried) {
  const bool is_wave = !tried.pattern.both_edges;
  const double worse = std::max(tried.other_way_cost, tried.laid.cost),
               better = std::min(tried.other_way_cost, tried.laid.cost);
  const bool told = worse > kClearly * std::max(better, 1e-4);
  if (!told) return Wiring::kCannotTell;
  const bool reversed =
      is_wave ? tried.steep_rises != DrawnReversed(bench, trigger) : tried.laid.inverted;
  return reversed ? Wiring::kReversed : Wiring::kAsDrawn;
}

double StrayShare(const CrankTrack& track) {
  return track.placed == 0 ? 1 : static_cast<double>(track.missing + track.extra) / track.placed;
}

// Levels of few samples that jitter lie alike both ways round in a window; all along one of the two
// misses the same edges in every turn.
Wiring SettleLevel(const CapturedChannel& channel, WheelTried& tried) {
  WheelPattern inverted = tried.pattern;
  for (PatternMark& mark : inverted.marks) mark.high = !mark.high;
  const double drawn_share = StrayShare(Follow(channel.changes, tried.pattern, StrayNs(channel))),
               other_share = StrayShare(Follow(channel.changes, inverted, StrayNs(channel)));
  const bool told = std::min(drawn_share, other_share) <= kNowAndThen &&
                    std::max(drawn_share, other_share) > kClearly * kNowAndThen;
  if (!told) return Wiring::kCannotTell;
  if (drawn_share < other_share) return Wiring::kAsDrawn;
  tried.pattern = std::move(inverted);
  tried.laid.inverted = true;
  return Wiring::kReversed;
}

// Where the best window cannot tell, the whole capture may: one way round it is followed all along,
// and it is the one that lies better in the best window too. Low waves of few steps are lost either
// way. Where that cannot tell either, the way that is drawn is taken.
Wiring SettleWay(const profile::Bench& bench, const CapturedChannel& channel, WheelTried& tried) {
  const Wiring wiring = WiringOf(bench, channel.about.trigger, tried);
  if (wiring != Wiring::kCannotTell || tried.other_way_cost >= kFits) return wiring;
  if (tried.pattern.both_edges) return SettleLevel(channel, tried);
  const auto strays = [&](bool rises) {
    return StrayShare(Follow(EdgesOf(channel, false, rises), tried.pattern, StrayNs(channel)));
  };
  const bool drawn_rises = DrawnReversed(bench, channel.about.trigger);
  const double as_drawn = strays(drawn_rises), reversed = strays(!drawn_rises);
  const bool rises = reversed < as_drawn ? !drawn_rises : drawn_rises;
  const bool told = std::min(as_drawn, reversed) <= kNowAndThen &&
                    std::max(as_drawn, reversed) > kClearly * kNowAndThen &&
                    rises == tried.steep_rises;
  tried.steep_rises = told ? rises : drawn_rises;
  if (!told) return wiring;
  return reversed < as_drawn ? Wiring::kReversed : Wiring::kAsDrawn;
}

bool OtherWay(const WheelTried& a, const WheelTried& b) {
  return a.pattern.both_edges ? a.laid.inverted != b.laid.inverted : a.steep_rises != b.steep_rises;
}

// Each tooth gone in turn; a way round that fits with any of them gone is one that may be.
WheelTried BestGone(const CapturedChannel& channel, const WheelPattern& built) {
  int last = 0;
  for (const PatternMark& mark : built.marks) last = std::max(last, mark.tooth);
  std::vector<WheelTried> all;
  for (int tooth = 1; tooth <= last && last > 1; ++tooth) {
    all.push_back(Try(channel, Without(built, tooth), ""));
    all.back().gone_tooth = tooth;
  }
  if (all.empty()) return {};
  WheelTried best =
      *std::ranges::min_element(all, {}, [](const WheelTried& tried) { return tried.laid.cost; });
  for (const WheelTried& tried : all) {
    const double other_cost = OtherWay(tried, best) ? tried.laid.cost : tried.other_way_cost;
    best.other_way_cost = std::min(best.other_way_cost, other_cost);
    if (tried.gone_tooth != best.gone_tooth && tried.laid.cost < kClearly * best.laid.cost)
      best.alike.push_back(tried.gone_tooth);
  }
  return best;
}

CrankTrack FollowSettled(const CapturedChannel& channel, const WheelTried& tried);

bool IsFollowedWhole(const CapturedChannel& channel, const WheelTried& tried) {
  return StrayShare(FollowSettled(channel, tried)) <= kNowAndThen;
}

bool HasFewTeeth(const WheelPattern& pattern) {
  return pattern.size() / (pattern.both_edges ? 2 : 1) <= kFewTeeth;
}

// A coil sees the place of a tooth that is gone as one long space, whose crossing lies halfway: the
// whole wheel seems to fit, and so may another, the other way round. A wheel of few teeth is even
// followed where it is not, with a speed that swings within each turn. Then the wheel without that
// tooth fits much better, and all along.
std::optional<WheelTried> GoneInstead(const CapturedChannel& channel, const WheelPattern& built,
                                      const WheelTried& best) {
  const bool is_loose = HasFewTeeth(built) && best.laid.cost > kFirm;
  const double strays = StrayShare(FollowSettled(channel, best));
  if (!is_loose && (built.both_edges || (best.file.empty() && strays <= kNowAndThen)))
    return std::nullopt;
  WheelTried gone = BestGone(channel, built);
  const bool better = gone.fits() && kMuchBetter * gone.laid.cost < best.laid.cost;
  if (!better || StrayShare(FollowSettled(channel, gone)) > std::max(kNowAndThen, kFewer * strays))
    return std::nullopt;
  return gone;
}

// Few teeth fit anything for a short way. Where they fit nothing all along, a fit counts that is
// exact, or that is followed from end to end.
bool IsByChance(const CapturedChannel& channel, const WheelTried& tried) {
  if (!tried.fits() || !HasFewTeeth(tried.pattern) || tried.laid.cost < kExact) return false;
  const auto edges = EdgesOf(channel, tried.pattern.both_edges, tried.steep_rises).size();
  const bool most = FollowSettled(channel, tried).placed > kMostly * static_cast<double>(edges);
  return !most || !IsFollowedWhole(channel, tried);
}

// The bench's own wheel, unless a part fits clearly better.
WheelTried BestOf(const profile::Bench& bench, const CapturedChannel& channel,
                  const WheelPattern& built, const std::vector<WheelPart>& parts,
                  std::size_t window) {
  const profile::Trigger& trigger = Nth(bench.triggers, channel.about.trigger);
  WheelTried best = Try(channel, built, "", window);
  if (best.fits() && !FitsAllAlong(channel, best)) best.laid.cost = 1;
  double least = best.fits() ? best.laid.cost / kMuchBetter : best.laid.cost;
  for (const WheelPart& part : parts) {
    WheelTried tried = Try(channel, PatternOf(trigger, part.wheel, bench.engine, !built.both_edges),
                           part.file, window);
    if (tried.laid.cost >= least || !FitsAllAlong(channel, tried)) continue;
    least = tried.laid.cost;
    best = std::move(tried);
  }
  return best;
}

// Where edges stray while a capacitor settles, the wheel is followed from then on.
CrankTrack FollowSettled(const CapturedChannel& channel, const WheelTried& tried) {
  std::vector<SeenChange> edges = EdgesOf(channel, tried.pattern.both_edges, tried.steep_rises);
  CrankTrack track = Follow(edges, tried.pattern, StrayNs(channel));
  if (!channel.is_wave || track.missing + track.extra == 0) return track;
  const double from_ns = SettledFromNs(channel.changes);
  if (std::erase_if(edges, [&](const SeenChange& edge) { return edge.t_ns < from_ns; }) == 0)
    return track;
  CrankTrack settled = Follow(edges, tried.pattern, StrayNs(channel));
  return StrayShare(settled) < StrayShare(track) ? settled : track;
}

CrankMatch Finish(const profile::Bench& bench, const CapturedChannel& channel, WheelTried tried) {
  CrankMatch match;
  const Wiring wiring = SettleWay(bench, channel, tried);
  match.track = FollowSettled(channel, tried);
  match.is_even = IsEven(tried.pattern);
  match.open_deg = OpenDegOf(tried.pattern);
  match.about.trigger = channel.about.trigger;
  match.about.name = Nth(bench.triggers, channel.about.trigger).name;
  match.about.how = channel.how;
  match.about.changes = !channel.changes.empty();
  match.about.cost = tried.laid.cost;
  match.about.part = tried.file;
  match.about.is_as_built = tried.file.empty() && tried.gone_tooth == 0 && tried.fits();
  if (tried.fits()) match.about.wheel = tried.pattern.name;
  match.about.wiring = tried.fits() ? wiring : Wiring::kCannotTell;
  const bool either_way = match.about.wiring == Wiring::kCannotTell && !tried.pattern.both_edges &&
                          tried.other_way_cost < kFits;
  if (either_way) match.either_way_deg = tried.pattern.MostStepDeg() / 2;
  match.about.teeth_seen = match.track.placed / (tried.pattern.both_edges ? 2 : 1);
  match.about.missing = match.track.missing;
  match.about.extra = match.track.extra;
  if (tried.gone_tooth > 0) match.about.gone_teeth.push_back(tried.gone_tooth);
  for (std::size_t i = 0; i < match.track.missing_of.size(); ++i) {
    const PatternMark& mark = tried.pattern.marks[i];
    const bool gone =
        match.track.missing_of[i] > kGone * match.track.turns() && match.track.missing_of[i] > 1;
    if (gone && mark.begin) match.about.gone_teeth.push_back(mark.tooth);
  }
  match.tried = std::move(tried);
  return match;
}

}  // namespace

std::vector<SeenChange> EdgesOf(const CapturedChannel& channel, bool both, bool rising) {
  if (both) return channel.changes;
  std::vector<SeenChange> edges;
  bool hole = false;
  for (const SeenChange& change : channel.changes) {
    hole = hole || change.after_hole;
    if (change.high != rising) continue;
    edges.push_back(change);
    edges.back().after_hole = std::exchange(hole, false);
  }
  return edges;
}

CrankMatch MatchCrankWithout(const profile::Bench& bench, const CapturedChannel& channel,
                             int tooth) {
  const profile::Trigger& trigger = Nth(bench.triggers, channel.about.trigger);
  const WheelPattern built = PatternOf(trigger, bench.engine, IsWave(bench, channel));
  WheelTried tried = Try(channel, Without(built, tooth), "");
  tried.gone_tooth = tooth;
  return Finish(bench, channel, std::move(tried));
}

CrankMatch MatchCrankAs(const profile::Bench& bench, const CapturedChannel& channel,
                        const WheelPart& part) {
  const profile::Trigger& trigger = Nth(bench.triggers, channel.about.trigger);
  WheelPattern pattern = PatternOf(trigger, part.wheel, bench.engine, IsWave(bench, channel));
  return Finish(bench, channel, Try(channel, std::move(pattern), part.file));
}

CrankMatch MatchCrank(const profile::Bench& bench, const CapturedChannel& channel,
                      const std::vector<WheelPart>& parts) {
  const profile::Trigger& trigger = Nth(bench.triggers, channel.about.trigger);
  const bool as_wave = IsWave(bench, channel);
  const WheelPattern built = PatternOf(trigger, bench.engine, as_wave);
  WheelTried best = BestOf(bench, channel, built, parts, kToCompare);
  if (!best.fits()) {
    WheelTried gone = BestGone(channel, built);
    if (gone.laid.cost < best.laid.cost) best = std::move(gone);
  } else if (auto gone = GoneInstead(channel, built, best)) {
    best = std::move(*gone);
  }
  // With stray edges now and then no long window may be clean.
  if (best.fits()) return Finish(bench, channel, std::move(best));
  best = BestOf(bench, channel, built, parts, 0);
  const bool by_chance = IsByChance(channel, best);
  CrankMatch match = Finish(bench, channel, std::move(best));
  match.is_by_chance = by_chance;
  if (by_chance) {
    TriggerMatch none;
    none.trigger = match.about.trigger;
    none.name = match.about.name;
    none.how = match.about.how;
    match.about = std::move(none);
  }
  return match;
}

}  // namespace drycrank::capture
