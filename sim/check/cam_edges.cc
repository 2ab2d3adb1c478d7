// SPDX-License-Identifier: Apache-2.0
//
// cam_edges: in each whole cycle each edge of the cam comes at its place, as an oscilloscope shows
// it
//   over the crank's signal; margin = tolerance - how far the worst one is off. An edge that is
//   missing or too many fails by their number. The place is that of the wheel as built, less the
//   advance that is driven, and turned as the crank wheel is seen turned: a crank wheel that sits 6
//   degrees late moves the sparks (fires_at), not the cam against the crank.
//
//   crank wheel  repeats each turn: it cannot tell which of the two turns of a cycle it is in
//   first cam    tells that: half a turn of it is not seen here, and moves the sparks by 360 degrees
//   other cams   are measured against both
//
// Of a coil the crossing at a fixed place is looked at (edge_places.h), of a Hall sensor both
// edges.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "check/crank.h"
#include "check/edge_places.h"
#include "check/evidence.h"
#include "check/judge.h"
#include "check/value_words.h"
#include "check/wheel_fit.h"
#include "types/nth.h"

namespace drycrank::check {
namespace {

constexpr int kMostSearches = 64;      // of the crank wheel's place, which cost
constexpr double kCrankIsKnown = 0.6;  // share of its edges that must be found
constexpr double kAlikeDeg = 1;        // edges that are off by the same are off together

// A trigger as an input of the controller sees it.
struct Watched {
  int input = -1;                // index into the controller's triggers
  int trigger = -1;              // index into the bench's
  int level = -1;                // of a coil: the one whose edges have a place; -1: both
  int advance = -1;              // stimulus; -1: fixed
  std::vector<SeenEdge> seen{};  // of this cycle
};

Watched WatchedAt(const profile::Bench& bench, int input, int trigger) {
  Watched watched{.input = input, .trigger = trigger};
  if (trigger < 0) return watched;
  const profile::Trigger& built = Nth(bench.triggers, trigger);
  const auto& channel = Nth(bench.controller->triggers, input);
  if (std::holds_alternative<profile::VariableReluctancePickup>(built.pickup)) {
    watched.level = channel.edge == profile::ActiveEdge::kRising ? 1 : 0;
  }
  watched.advance = built.advance_stimulus;
  watched.seen.reserve(8 * built.wheel.teeth.size() + 64);
  return watched;
}

// A cycle, or a turn of the rotor that the judged wheel sits on.
double JudgedDeg(const profile::Bench& bench, int trigger) {
  if (trigger < 0) return bench.engine.cycle_deg();
  return WheelCycleDeg(Nth(bench.triggers, trigger), bench.engine);
}

// As often as its own cycle comes in that.
void Repeat(std::vector<BuiltEdge>& due, double own_deg, double cycle_deg) {
  const std::size_t once = due.size();
  for (double deg = own_deg; deg < cycle_deg; deg += own_deg) {
    for (std::size_t i = 0; i < once; ++i) {
      due.push_back(due[i]);
      due.back().deg += deg;
    }
  }
}

WheelFit FitOf(const profile::Bench& bench, const Watched& watched, double cycle_deg) {
  if (watched.trigger < 0) return {{}, cycle_deg, cycle_deg};
  const profile::Trigger& built = Nth(bench.triggers, watched.trigger);
  std::vector<BuiltEdge> due =
      BuiltEdges(built, bench.engine,
                 LeadsReversed(bench, built, Nth(bench.controller->triggers, watched.input)));
  if (watched.level >= 0) {
    std::erase_if(due, [&](const BuiltEdge& e) { return e.high != (watched.level == 1); });
  }
  Repeat(due, WheelCycleDeg(built, bench.engine), cycle_deg);
  const double period_deg = built.shaft == profile::Shaft::kCrank ? 360.0 : cycle_deg;
  return {std::move(due), cycle_deg, period_deg};
}

// The middle of the widest stretch without an edge: where a cycle is cut.
double QuietDeg(const std::vector<BuiltEdge>& due, double cycle_deg) {
  double quiet_deg = 0, widest_deg = -1;
  for (std::size_t i = 0; i < due.size(); ++i) {
    const double next_deg = i + 1 < due.size() ? due[i + 1].deg : due.front().deg + cycle_deg;
    if (next_deg - due[i].deg <= widest_deg) continue;
    widest_deg = next_deg - due[i].deg;
    quiet_deg = due[i].deg + widest_deg / 2;
  }
  return quiet_deg;
}

class CamEdges : public EventJudge {
 public:
  CamEdges(const Subject& subject, const expect::CamEdges& kind)
      : subject_(subject),
        kind_(kind),
        cycle_deg_(JudgedDeg(subject.bench, kind.trigger)),
        cam_(WatchedAt(subject.bench, kind.input, kind.trigger)),
        crank_(AtInput(subject.bench.controller->decoder.primary)),
        phase_(PhaseCam()),
        cam_fit_(FitOf(subject.bench, cam_, cycle_deg_)),
        crank_fit_(FitOf(subject.bench, crank_, cycle_deg_)),
        phase_fit_(FitOf(subject.bench, phase_, cycle_deg_)),
        quiet_deg_(QuietDeg(cam_fit_.due(), cycle_deg_)) {}

  bool WatchesTriggers() const override { return true; }
  void Open(TimeNs settled_ns) override {
    cycle_ = -1;
    if (const auto at = subject_.crank.AngleAt(settled_ns)) cycle_ = CycleAt(*at, settled_ns);
    begun_whole_ = false;
    ForgetSeen();
  }
  void OnEdge(const Edge& edge, bool open) override {
    if (!open) return;
    const auto at = subject_.crank.AngleAt(edge.t_ns);
    if (!at) {
      ++unplaced_;
      return;
    }
    GoOnTo(CycleAt(*at, edge.t_ns), edge.t_ns);
    for (Watched* watched : {&cam_, &crank_, &phase_}) {
      if (watched->input == edge.channel) Note(*watched, *at, edge);
    }
  }
  void Close(TimeNs end_ns) override {
    if (const auto at = subject_.crank.AngleAt(end_ns)) GoOnTo(CycleAt(*at, end_ns), end_ns);
  }

  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(trace_, kind_.cam + " edges off their place", "deg");
    if (worst_left_ > 0) {
      verdict.outcome = Outcome::kFailed;
      verdict.margin = -worst_left_;
      verdict.margin_unit = "edges";
      verdict.worst_ns = left_ns_;
    }
    verdict.wrong = failed_;
    verdict.allowed = worst_left_ > 0 ? 0 : kind_.tolerance_deg;
    verdict.detail = Detail();
    return verdict;
  }

 private:
  Watched AtInput(int input) const {
    const auto& triggers = subject_.bench.controller->triggers;
    if (input < 0 || AsSize(input) >= triggers.size()) return {};
    return WatchedAt(subject_.bench, input, TriggerAt(subject_.bench, Nth(triggers, input)));
  }
  // The cam that tells the turns apart; none when it is the one that is judged.
  Watched PhaseCam() const {
    const int cam = profile::PhaseCam(*subject_.bench.controller);
    return cam < 0 || cam == kind_.input ? Watched{} : AtInput(cam);
  }

  double AdvanceDeg(const Watched& watched, TimeNs t_ns) const {
    return watched.advance < 0 ? 0 : subject_.timeline.Value(watched.advance, t_ns);
  }
  // Cycles are counted at the cam as it is advanced.
  std::int64_t CycleAt(const CrankAngle& at, TimeNs t_ns) const {
    const CrankAngle cam = at.Plus(AdvanceDeg(cam_, t_ns) - quiet_deg_);
    const auto turns = static_cast<std::int64_t>(cycle_deg_ / 360);
    return cam.turns >= 0 ? cam.turns / turns : (cam.turns - turns + 1) / turns;
  }
  void Note(Watched& watched, const CrankAngle& at, const Edge& edge) {
    if (watched.level >= 0 && edge.high != (watched.level == 1)) return;
    if (watched.seen.size() == watched.seen.capacity()) return;
    watched.seen.push_back({at.InCycle(cycle_deg_) + AdvanceDeg(watched, edge.t_ns), edge.high});
  }
  void ForgetSeen() {
    for (Watched* watched : {&cam_, &crank_, &phase_}) watched->seen.clear();
  }
  void GoOnTo(std::int64_t cycle, TimeNs t_ns) {
    if (cycle <= cycle_) return;
    if (begun_whole_ && cycle == cycle_ + 1) JudgeCycle(t_ns);
    begun_whole_ = cycle_ >= 0;
    cycle_ = cycle;
    ForgetSeen();
  }

  // How late the crank wheel is seen; nothing when it is not seen, or not that wheel.
  std::optional<double> CrankLateDeg() {
    if (crank_.seen.empty()) return std::nullopt;
    Fit fit = crank_fit_.At(crank_.seen, crank_late_deg_);
    if (fit.missing + fit.extra > 2 && searches_ < kMostSearches) {
      ++searches_;
      fit = crank_fit_.Best(crank_.seen, false);
    }
    if (fit.found < kCrankIsKnown * static_cast<double>(crank_fit_.due().size())) {
      return std::nullopt;
    }
    crank_late_deg_ = fit.late_deg();
    return crank_late_deg_;
  }
  // Which turn of the crank the cams say it is: 0, or 360 late; a rotor, or 720.
  double TurnDeg(double crank_deg) const {
    const bool own = phase_.input < 0;
    const WheelFit& fit = own ? cam_fit_ : phase_fit_;
    const std::vector<SeenEdge>& seen = own ? cam_.seen : phase_.seen;
    double turn_deg = 0;
    for (double deg = 360; deg < cycle_deg_; deg += 360) {
      if (IsNearer(fit.At(seen, crank_deg + deg), fit.At(seen, crank_deg + turn_deg))) {
        turn_deg = deg;
      }
    }
    return turn_deg;
  }
  static bool IsNearer(const Fit& there, const Fit& here) {
    const int left_here = here.missing + here.extra, left_there = there.missing + there.extra;
    if (left_here != left_there) return left_there < left_here;
    return std::abs(there.worst_deg) + kAlikeDeg < std::abs(here.worst_deg);
  }

  void JudgeCycle(TimeNs t_ns) {
    const auto crank_deg = CrankLateDeg();
    if (!crank_deg) {
      ++without_crank_;
      return;
    }
    const double base_deg = *crank_deg + TurnDeg(*crank_deg);
    const Fit at_place = cam_fit_.At(cam_.seen, base_deg);
    if (!at_place.whole() && failed_ == 0) {
      wrong_ = {at_place, cam_fit_.Best(cam_.seen, true), base_deg, cam_.seen.empty()};
    }
    const Fit fit = at_place.whole() ? at_place : OrTurned(at_place, base_deg);
    const double off_deg = fit.found == 0 ? 0 : fit.worst_deg;
    const double margin = kind_.tolerance_deg - std::abs(off_deg);
    trace_.Add({t_ns, off_deg, 0, kind_.tolerance_deg}, margin);
    if (fit.found > 0 && margin <= trace_.worst_margin()) worst_edge_ = fit.worst;
    if (fit.whole() && margin >= 0) return;
    if (failed_++ == 0 && at_place.whole()) {
      wrong_ = {fit, cam_fit_.Best(cam_.seen, true), base_deg, cam_.seen.empty()};
    }
    if (fit.missing + fit.extra > worst_left_) {
      worst_left_ = fit.missing + fit.extra;
      left_ns_ = t_ns;
    }
  }

  // How late the wheel as a whole was in the first cycle that is not right.
  double OffDeg() const {
    const double period_deg = phase_.input < 0 ? 360 : cycle_deg_;
    return WrapSignedDeg(wrong_.best.late_deg() - wrong_.base_deg, period_deg);
  }
  static bool IsTogether(const Fit& fit) {
    return fit.whole() && fit.most_deg - fit.least_deg <= kAlikeDeg;
  }
  // A wheel with every edge, turned too far for them to be known one by one, is off by degrees.
  Fit OrTurned(const Fit& at_place, double base_deg) const {
    if (!IsTogether(wrong_.best) || wrong_.best.inverted) return at_place;
    const double moved_deg = base_deg - wrong_.base_deg;
    Fit turned = cam_fit_.At(cam_.seen, wrong_.best.late_deg() + moved_deg);
    if (!IsTogether(turned)) return at_place;
    turned.worst_deg += OffDeg();
    return turned;
  }

  std::string EdgeWords(int due) const {
    const BuiltEdge& edge = Nth(cam_fit_.due(), due);
    return fmt::format("the edge where tooth {} {}, due at {}", edge.tooth,
                       edge.begin ? "begins" : "ends", NumberText(edge.deg, 1, "deg"));
  }
  static std::string LateWords(double deg) {
    return fmt::format("{} {}", NumberText(std::abs(deg), 1, "deg"), deg < 0 ? "early" : "late");
  }
  std::string Against() const {
    if (phase_.input < 0) return "the crank wheel";
    return "the crank wheel and " + Nth(subject_.bench.controller->triggers, phase_.input).name;
  }
  // Of the first cycle that is not right. The first cam says itself which turn it is.
  std::string Why() const {
    const auto& [fit, best, base_deg, silent] = wrong_;
    if (silent) return fmt::format("{} shows no edge at all", kind_.cam);
    const double off_deg = OffDeg();
    const bool together = IsTogether(best);
    if (together && best.inverted && std::abs(off_deg) <= kind_.tolerance_deg) {
      return fmt::format("{} has every edge at its place with the levels inverted", kind_.cam);
    }
    if (together && !best.inverted) {
      const double half_deg = cycle_deg_ / 2;
      const bool half = std::abs(std::abs(off_deg) - half_deg) <= kind_.tolerance_deg;
      return fmt::format("{} comes {} against {}{}", kind_.cam,
                         LateWords(half ? half_deg : off_deg), Against(),
                         half ? ": half a turn of its wheel" : "");
    }
    std::string why;
    const auto add = [&why](const std::string& text) { why += (why.empty() ? "" : "; ") + text; };
    if (fit.missing > 0) {
      add(fmt::format("of {} edges of {} {} missing, the first {}", cam_fit_.due().size(),
                      kind_.cam, fit.missing, EdgeWords(fit.first_missing)));
    }
    if (fit.extra > 0) {
      add(fmt::format("{} too many on {}, the first at {}", fit.extra, kind_.cam,
                      NumberText(WrapDeg(fit.first_extra_deg - base_deg, cycle_deg_), 1, "deg")));
    }
    if (fit.found > 0 && std::abs(fit.worst_deg) > kind_.tolerance_deg) {
      add(fmt::format("{} of {} comes {}", EdgeWords(fit.worst), kind_.cam,
                      LateWords(fit.worst_deg)));
    }
    return why;
  }

  std::string Detail() const {
    if (trace_.count() == 0) return NothingJudged();
    if (failed_ > 0) {
      return fmt::format("{}; {} of {} cycles", Why(), failed_, trace_.count());
    }
    return fmt::format("{} edges in each of {} cycles at their places against {}, at worst {} ({})",
                       cam_fit_.due().size(), trace_.count(), Against(),
                       LateWords(trace_.worst().reported),
                       worst_edge_ < 0 ? "none seen" : EdgeWords(worst_edge_));
  }
  std::string NothingJudged() const {
    if (unplaced_ > 0) return kNoMotionKnown;
    if (without_crank_ > 0) {
      return fmt::format(
          "the crank wheel was not seen as it is built: there is nothing to measure "
          "{} against",
          kind_.cam);
    }
    return "no whole cycle with edges was seen while this was judged";
  }

  const Subject subject_;
  const expect::CamEdges& kind_;
  const double cycle_deg_;
  Watched cam_, crank_, phase_;
  const WheelFit cam_fit_, crank_fit_, phase_fit_;
  const double quiet_deg_;
  std::int64_t cycle_ = -1;
  bool begun_whole_ = false;
  double crank_late_deg_ = 0;
  int searches_ = 0;
  Trace trace_;
  int worst_edge_ = -1;
  int worst_left_ = 0;
  TimeNs left_ns_ = 0;
  std::uint64_t failed_ = 0, without_crank_ = 0, unplaced_ = 0;
  struct Wrong {
    Fit fit, best;
    double base_deg = 0;
    bool silent = false;
  };
  Wrong wrong_;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::CamEdges& kind) {
  return std::make_unique<CamEdges>(subject, kind);
}

}  // namespace drycrank::check
