// SPDX-License-Identifier: Apache-2.0
//
// The decoder's other half: what edges of the cams do to the places.
#include <algorithm>

#include "standin/decoder.h"
#include "types/nth.h"

namespace drycrank::standin {
namespace {

constexpr int kUnexpectedInARow = 2;
constexpr double kCyclesWithoutCam = 1.25;  // a moved cam may be late in one cycle
// Ratios a wheel without gap must have stood before a cam edge may place it: from standstill the
// first intervals shrink too fast to place anything between two teeth.
constexpr int kSteadyRatios = 2;

}  // namespace

void Decoder::OnCamEdge(int cam, TimeNs t_ns, bool other) {
  if (state_ == SyncState::kStopped || interval_ns_ <= 0) return;
  const CamEdge edge{edge_, static_cast<double>(t_ns - last_ns_) / interval_ns_, other};
  if (cam > 0) {
    if (state_ == SyncState::kSearching || other) return;
    Cam& measured = Nth(cams_, cam);
    measured.Measure(BestMatch(measured, edge));
    return;
  }
  last_cam_edge_ = edge_;
  if (state_ != SyncState::kSearching || CamMayPlace()) {
    PlaceCamEdge(edge);
  } else if (crank_.has_gap()) {
    if (early_cam_count_ < early_cam_edges_.size()) early_cam_edges_[early_cam_count_++] = edge;
  }
}

// Is all known that the crank alone can tell, and the rest the cam's to say?
bool Decoder::CamMayPlace() const {
  if (!position_by_cam_ || tested_ < kSteadyRatios) return false;
  if (!crank_.has_gap()) return true;
  return GapSeen() && std::all_of(places_.begin(), places_.end(),
                                  [&](int place) { return crank_.LookAlike(places_[0], place); });
}

// How far from its place an edge may lie. Where the cam alone tells places apart that look alike, no
// farther than half the way to the next.
double Decoder::CamWindowDeg() const {
  const double window_deg = cams_[0].window_deg();
  if (state_ != SyncState::kSearching) return window_deg;
  if (!crank_.has_gap()) return std::min(window_deg, crank_.min_interval_deg() / 2);
  return std::min(window_deg, crank_.SpanDeg(crank_.Twin(), crank_.Twin()) / 2);
}

double Decoder::CycleAngleDeg(int place, const CamEdge& edge) const {
  const int then = crank_.Back(place, static_cast<int>(edge_ - edge.crank_edge));
  const double since_deg =
      std::min(edge.intervals * crank_.interval_deg(then), crank_.interval_deg(crank_.Next(then)));
  return crank_.position_deg(then) + since_deg;
}

Cam::Match Decoder::BestMatch(const Cam& cam, const CamEdge& edge) const {
  Cam::Match best;
  for (const int place : places_) {
    const Cam::Match match = cam.Nearest(CycleAngleDeg(place, edge), edge.other);
    if (best.edge < 0 || match.miss_deg < best.miss_deg) best = match;
  }
  return best;
}

void Decoder::PlaceCamEdge(const CamEdge& edge) {
  Cam& cam = cams_[0];
  const bool was_synchronised = state_ == SyncState::kSynchronised;
  const double window_deg = CamWindowDeg();
  const auto fits = [&](int place) {
    return cam.Nearest(CycleAngleDeg(place, edge), edge.other).miss_deg <= window_deg;
  };
  const Cam::Match best = BestMatch(cam, edge);
  if (best.edge < 0 || std::none_of(places_.begin(), places_.end(), fits)) {
    if (!edge.other) cam.Measure(best);
    OnUnexpectedCamEdge(edge.other);
    return;
  }
  unexpected_[edge.other ? 1 : 0] = 0;
  const std::size_t before = places_.size();
  std::erase_if(places_, [&](int place) { return !fits(place); });
  if (!was_synchronised && places_.size() == 1) {
    cam.Reset();
    phase_by_cam_ = true;
    Synchronised();
  } else if (places_.size() == before && before > 1 && ++undecided_ > cam.size()) {
    reason_ = SyncReason::kCamAmbiguous;
  }
  if (state_ == SyncState::kSearching && PlacesDifferByTurns()) state_ = SyncState::kPositionKnown;
  if (edge.other) return;
  cam.Measure(best);
  cam.Follow();
}

void Decoder::OnUnexpectedCamEdge(bool other) {
  if (++unexpected_[other ? 1 : 0] < kUnexpectedInARow) return;
  if (state_ != SyncState::kSynchronised) {
    reason_ = SyncReason::kCamUnexpected;
    cams_[0].Unfollow();
    if (position_by_cam_) SearchAgain();
  } else if (phase_by_cam_) {
    LosePhase(SyncReason::kCamUnexpected);
  }
}

void Decoder::LosePhase(SyncReason reason) {
  ++losses_;
  reason_ = reason;
  cams_[0].Unfollow();
  if (position_by_cam_ && reason == SyncReason::kCamUnexpected) {
    SearchAgain();
    return;
  }
  state_ = SyncState::kPositionKnown;
  phase_by_cam_ = false;
  unexpected_ = {};
  undecided_ = 0;
  const int place = places_[0];
  for (int other = 0; other < crank_.size(); ++other) {
    if (other != place && crank_.SamePosition(other, place)) places_.push_back(other);
  }
}

// Nothing will ever tell the turns of a cycle apart, or places that look alike.
void Decoder::MissCamThatIsNotTold() {
  const bool in_turn = state_ == SyncState::kPositionKnown && !paired_;
  if (in_turn || CamMayPlace()) reason_ = SyncReason::kNoCamTold;
}

void Decoder::WatchForCam() {
  if (cams_.empty()) return MissCamThatIsNotTold();
  if (static_cast<double>(edge_ - last_cam_edge_) <= kCyclesWithoutCam * crank_.size()) return;
  if (state_ == SyncState::kSynchronised) {
    if (phase_by_cam_) LosePhase(SyncReason::kCamMissing);
  } else if (state_ == SyncState::kPositionKnown || position_by_cam_ || !crank_.has_gap()) {
    reason_ = SyncReason::kCamMissing;
  }
}

}  // namespace drycrank::standin
