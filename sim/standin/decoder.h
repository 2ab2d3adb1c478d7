// SPDX-License-Identifier: Apache-2.0
//
// Where the engine is, from active edges alone.
//
// The decoder keeps the set of places in the cycle at which the last crank edge can have been. Each
// new edge moves all of them on by one tooth, and those whose expected ratio of this interval to
// the one before does not fit the measured one leave the set. The position is known when those left
// differ by whole turns only and a gap has been seen from both sides (its interval begins and ends:
// one long interval alone may be a slow start). A wheel without gap, or one whose pattern comes
// again within the turn (two equal gaps), gets its position from another trigger: references.h. Its
// edges remove the places at which none is due, and so do those of a cam; one place left =
// synchronised. A trigger of which both edges are read removes them by the width of its teeth as
// well.
//
// A pin on the crank beside a wheel whose gap tells the place has nothing to tell but whether that
// is true: with a tooth gone elsewhere there are two gaps in a turn, and one of them is not the
// gap. So nothing fires before the pin has come where the gap says it is due, to half a tooth,
// since the place was found. An interval that is not what it was a cycle ago, or a pin elsewhere
// after a gap, and nothing fires until the pin agrees again: usual.h. Elsewhere twice, it ends the
// belief. A pin elsewhere that has agreed since the gap passed is noise: no place can have changed.
// One that does not come in 1.25 cycles of teeth that are all in order is said and done without;
// edges that were not in order count for nothing, or noise on the crank would end the wait within a
// turn.
//
// Without a cam a four-stroke stays at "position known": enough to fire both cylinders of a pair in
// every turn. Told to fire each by itself it does not, and says that no cam is told.
//
//   ratio   1   1   3  1/3  1   1          60-2: last tooth before the gap, gap, first after it
//   edges   |   |   |           |   |   |
//
// The set may become empty: an edge too early (extra edge, noise) or too late (missing edge). The
// search then begins again with the places that the last ratio alone allows. The rejected way was
// to count teeth between gaps: it knows one wheel at a time, and cannot say which edge was wrong.
//
// Edges of the cam are placed by the crank edge before them and the speed of the interval before
// that. Edges that came before the position was known are remembered and placed when it becomes
// known.
//
// Coming to a standstill lengthens the last intervals as a missing edge does. So a late edge ends
// synchronism at once, but is counted as a loss one edge later, if that shows the engine back at
// speed. A stop is not counted.
#ifndef DRYCRANK_STANDIN_DECODER_H_
#define DRYCRANK_STANDIN_DECODER_H_

#include <algorithm>
#include <array>
#include <cstdint>
#include <vector>

#include "profile/bench.h"
#include "standin/cam.h"
#include "standin/controller.h"
#include "standin/pattern.h"
#include "standin/references.h"
#include "standin/usual.h"
#include "types/nth.h"
#include "types/time.h"

namespace drycrank::standin {

class Decoder {
 public:
  explicit Decoder(const profile::Controller& controller);

  void OnCrankEdge(TimeNs t_ns);
  // `cam`: index into decoder.cams. `other`: the edge at the other end of a tooth, where both are
  // read.
  void OnCamEdge(int cam, TimeNs t_ns, bool other = false);
  // Before a crank edge: is a tooth of that cam in front of its sensor? Only of one that is read by
  // level.
  void SeeLevel(int cam, bool tooth) { Nth(witnesses_, cam).tooth = tooth; }
  bool by_level() const { return by_level_; }
  void Advance(TimeNs t_ns);  // time-out
  void Stop(SyncReason reason);

  SyncState state() const { return state_; }
  SyncReason reason() const { return reason_; }
  // Is what is known of the position enough to fire?
  bool may_fire() const { return believes() && !usual_.doubts(); }
  // Is the last crank edge why it may not: too early after the one before it, which may be no
  // tooth?
  bool came_early() const { return came_early_; }
  std::int64_t losses() const { return losses_; }
  std::int64_t cycles() const { return cycles_; }  // completed while synchronised
  double speed_rpm() const;
  double cam_angle_deg(int cam) const { return Nth(cams_, cam).angle_deg(); }

  // At the last crank edge, to a turn while the phase is not known. REQUIRES: may_fire().
  double position_deg() const { return crank_.position_deg(places_[0]); }
  double to_next_deg() const { return crank_.interval_deg(crank_.Next(places_[0])); }
  double deg_per_ns() const { return crank_.interval_deg(places_[0]) / interval_ns_; }

 private:
  bool believes() const {
    return state_ == SyncState::kSynchronised ||
           (paired_ && state_ == SyncState::kPositionKnown && PinsAgree());
  }
  // A cam edge, by the crank edge before it.
  struct CamEdge {
    int cam = 0;
    std::int64_t crank_edge = 0;
    double intervals = 0;  // since then, in lengths of the interval before it
    bool other = false;    // at the other end of a tooth
  };

  // One of the triggers that places the crank's edges.
  struct Witness {
    bool places = false;      // else it is measured only
    bool turns_only = false;  // Reference
    bool by_level = false;    // no edge of it places
    bool is_pin =
        false;  // on the crank, beside a wheel that needs none: it agrees with the gap or not
    bool agrees = false;   // it has, since the position was found; or it does not come at all
    std::int64_t agreed_edge = -1;  // crank edge before it did so last
    bool tooth = false;    // its level at the last crank edge
    bool doubted = false;  // it contradicted, and has not been of both levels since
    std::array<bool, 2> seen{};
    std::int64_t last_edge = 0;       // crank edge before its last one
    std::array<int, 2> unexpected{};  // edges in a row: active ones, and those at the other end
  };

  void Begin(TimeNs t_ns);
  void SearchAgain();
  void Test(double ratio);
  void Lost(double ratio);
  void JudgeLateEdge();
  void AskForPosition();
  bool GapSeen() const;
  bool PlacesDifferByTurns() const;
  bool CamMayPlace() const;
  void PlaceEarlyCamEdges();
  void PositionKnown();
  void Synchronised();
  void LosePhase(SyncReason reason, bool turns_only);
  void WatchForGap();
  void WatchForCam();
  void MissCamThatIsNotTold();
  void OnMissingCam(const Witness& witness);
  bool PinsAgree() const {
    return std::ranges::none_of(witnesses_, [](const Witness& w) { return w.is_pin && !w.agrees; });
  }
  void OnPin(int cam, const Cam::Match& match);
  void TakeForTrue(Witness& pin);
  void CompareWithLastCycle(double ratio);
  void AskThePins(SyncReason reason);
  void WatchForPin(Witness& pin);
  void PlaceByLevel(int cam);
  void OnContradiction(int cam);
  void ForgetUnexpected();
  void Unfollow();
  double CamWindowDeg(int cam) const;
  void PlaceCamEdge(const CamEdge& edge);
  double CycleAngleDeg(int place, const CamEdge& edge) const;
  Cam::Match BestMatch(const Cam& cam, const CamEdge& edge) const;
  void OnUnexpectedCamEdge(int cam, bool other);
  void MeasureSpeed(TimeNs t_ns);
  TimeNs& EdgeTime(std::int64_t edge) { return edge_ns_[AsSize(edge) & (edge_ns_.size() - 1)]; }

  Pattern crank_;
  std::vector<Cam> cams_;
  std::vector<Witness> witnesses_;  // per cam
  Usual usual_;
  bool has_pin_ = false;
  int placing_ = 0;                 // how many of them place, ...
  int placing_edges_ = 0;           // ... and their edges in a cycle
  bool turns_told_ = false;         // one of them is on a cam
  bool by_level_ = false;           // one of them is read so
  bool position_by_cam_;            // the wheel's pattern comes again within a turn
  bool paired_;                     // fires from the crank's position alone
  double stall_ns_;
  double speed_span_deg_;
  int speed_intervals_ = 0;

  SyncState state_ = SyncState::kStopped;
  SyncReason reason_ = SyncReason::kNone;
  std::int64_t losses_ = 0;
  std::int64_t cycles_ = 0;

  std::vector<int> places_;      // capacity: all
  int tested_ = 0;               // ratios that the places have stood
  std::vector<TimeNs> edge_ns_;  // ring, a power of two long
  std::int64_t edge_ = -1;       // number of the last crank edge since standstill
  TimeNs last_ns_ = 0;
  TimeNs now_ns_ = 0;
  double interval_ns_ = 0;
  double speed_rpm_ = 0;

  bool came_early_ = false;
  int late_place_ = -1;    // of a late edge not judged yet; -1: none
  double late_speed_ = 0;  // deg/ns

  bool phase_by_cam_ = false;
  std::int64_t search_edge_ = 0;  // the search began here
  std::int64_t doubt_edge_ = 0;   // what is believed of the place dates from here, ...
  std::int64_t gap_edge_ = 0;     // ... and the last gap ended here
  int undecided_ = 0;             // cam edges that fitted both halves of the cycle
  std::array<CamEdge, 8> early_cam_edges_{};
  std::size_t early_cam_count_ = 0;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_DECODER_H_
