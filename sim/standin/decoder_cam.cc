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
  const CamEdge edge{cam, edge_, static_cast<double>(t_ns - last_ns_) / interval_ns_, other};
  Witness& witness = Nth(witnesses_, cam);
  if (!witness.places || witness.by_level) {
    if (witness.is_pin) witness.last_edge = edge_;
    if (state_ == SyncState::kSearching || other) return;
    Cam& measured = Nth(cams_, cam);
    const Cam::Match match = BestMatch(measured, edge);
    measured.Measure(match);
    if (witness.is_pin) OnPin(cam, match);
    return;
  }
  witness.last_edge = edge_;
  if (state_ != SyncState::kSearching || (CamMayPlace() && !witness.turns_only)) {
    PlaceCamEdge(edge);
  } else if (crank_.has_gap()) {
    if (early_cam_count_ < early_cam_edges_.size()) early_cam_edges_[early_cam_count_++] = edge;
  }
}

// Half a tooth off, or more, it is another tooth that the gap is taken for.
void Decoder::OnPin(int cam, const Cam::Match& match) {
  Witness& pin = Nth(witnesses_, cam);
  const double window_deg = std::min(Nth(cams_, cam).window_deg(), crank_.min_interval_deg() / 2);
  if (match.edge >= 0 && match.miss_deg <= window_deg) {
    pin.agreed_edge = edge_;
    return TakeForTrue(pin);
  }
  if (pin.agrees && pin.agreed_edge > gap_edge_) return;  // noise: no place can have changed
  if (pin.agrees) return AskThePins(SyncReason::kCamUnexpected);
  reason_ = SyncReason::kCamUnexpected;
  SearchAgain();
}

void Decoder::TakeForTrue(Witness& pin) {
  pin.agrees = true;
  if (paired_ && !turns_told_ && PinsAgree()) reason_ = SyncReason::kNone;
  if (state_ == SyncState::kPositionKnown && places_.size() == 1) Synchronised();
}

// Where the place is and what it would fire stands; whether it is true must be said anew.
void Decoder::AskThePins(SyncReason reason) {
  if (believes()) ++losses_;
  reason_ = reason;
  state_ = SyncState::kPositionKnown;
  doubt_edge_ = edge_;
  for (Witness& pin : witnesses_) pin.agrees = false;
}

void Decoder::CompareWithLastCycle(double ratio) {
  if (crank_.IsGap(places_[0])) gap_edge_ = edge_;
  const double told = crank_.ExpectedRatio(places_[0]);
  const auto verdict = usual_.OnInterval(places_[0], interval_ns_, ratio, told);
  if (verdict != Usual::Verdict::kNotCleared) return;
  AskThePins(usual_.longer() ? SyncReason::kToothLate : SyncReason::kToothEarly);
}

// The gap alone must do.
void Decoder::WatchForPin(Witness& pin) {
  const auto since = static_cast<double>(edge_ - std::max(pin.last_edge, doubt_edge_));
  if (!pin.is_pin || since <= kCyclesWithoutCam * crank_.size()) return;
  if (!pin.agrees && state_ != SyncState::kSearching) TakeForTrue(pin);
  if (state_ != SyncState::kSearching) reason_ = SyncReason::kCamMissing;
}

// Is all known that the crank alone can tell, and the rest the cam's to say?
bool Decoder::CamMayPlace() const {
  if (!position_by_cam_ || tested_ < kSteadyRatios) return false;
  if (!crank_.has_gap()) return true;
  return GapSeen() && std::all_of(places_.begin(), places_.end(),
                                  [&](int place) { return crank_.LookAlike(places_[0], place); });
}

// How far from its place an edge may lie.
double Decoder::CamWindowDeg(int cam) const {
  const double window_deg = Nth(cams_, cam).window_deg();
  return state_ == SyncState::kSearching ? NarrowWindowDeg(crank_, window_deg) : window_deg;
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
  Cam& cam = Nth(cams_, edge.cam);
  Witness& witness = Nth(witnesses_, edge.cam);
  const bool was_synchronised = state_ == SyncState::kSynchronised;
  const double window_deg = CamWindowDeg(edge.cam);
  const auto fits = [&](int place) {
    return cam.Nearest(CycleAngleDeg(place, edge), edge.other).miss_deg <= window_deg;
  };
  const Cam::Match best = BestMatch(cam, edge);
  if (best.edge < 0 || std::none_of(places_.begin(), places_.end(), fits)) {
    if (!edge.other) cam.Measure(best);
    OnUnexpectedCamEdge(edge.cam, edge.other);
    return;
  }
  witness.unexpected[edge.other ? 1 : 0] = 0;
  const std::size_t before = places_.size();
  std::erase_if(places_, [&](int place) { return !fits(place); });
  if (!was_synchronised && places_.size() == 1) {
    cam.Reset();
    phase_by_cam_ = true;
    Synchronised();
  } else if (places_.size() == before && before > 1 && (turns_told_ || !PlacesDifferByTurns()) &&
             ++undecided_ > placing_edges_) {
    reason_ = SyncReason::kCamAmbiguous;
  }
  if (state_ == SyncState::kSearching && PlacesDifferByTurns()) state_ = SyncState::kPositionKnown;
  if (edge.other) return;
  cam.Measure(best);
  cam.Follow();
}

// The places at which the cam would show another level are not where the engine is.
void Decoder::PlaceByLevel(int cam) {
  Witness& witness = Nth(witnesses_, cam);
  if (!witness.places || !witness.by_level || state_ == SyncState::kSearching) return;
  witness.seen[witness.tooth ? 1 : 0] = true;
  witness.doubted = witness.doubted && !(witness.seen[0] && witness.seen[1]);
  if (witness.doubted) return;  // it may be dead
  const auto contradicts = [&](int place) {
    const auto tooth = Nth(cams_, cam).ToothAt(crank_.position_deg(place));
    return tooth && *tooth != witness.tooth;
  };
  if (std::ranges::all_of(places_, contradicts)) return OnContradiction(cam);
  const std::size_t told = std::erase_if(places_, contradicts);
  const bool agrees = Nth(cams_, cam).ToothAt(crank_.position_deg(places_[0])).has_value();
  if (agrees) witness.unexpected = {};
  if (told == 0 || places_.size() > 1) return;
  phase_by_cam_ = true;
  Synchronised();
}

void Decoder::OnContradiction(int cam) {
  OnUnexpectedCamEdge(cam, false);
  if (state_ == SyncState::kSynchronised) return;
  Nth(witnesses_, cam).doubted = true;
  Nth(witnesses_, cam).seen = {};
}

void Decoder::OnUnexpectedCamEdge(int cam, bool other) {
  Witness& witness = Nth(witnesses_, cam);
  if (++witness.unexpected[other ? 1 : 0] < kUnexpectedInARow) return;
  if (state_ != SyncState::kSynchronised) {
    reason_ = SyncReason::kCamUnexpected;
    Nth(cams_, cam).Unfollow();
    if (position_by_cam_ && !witness.turns_only) SearchAgain();
  } else if (phase_by_cam_) {
    LosePhase(SyncReason::kCamUnexpected, witness.turns_only);
  }
}

void Decoder::Unfollow() {
  for (std::size_t cam = 0; cam < cams_.size(); ++cam) {
    if (witnesses_[cam].places) cams_[cam].Unfollow();
  }
}

void Decoder::ForgetUnexpected() {
  for (Witness& witness : witnesses_) witness.unexpected = {};
}

void Decoder::LosePhase(SyncReason reason, bool turns_only) {
  ++losses_;
  reason_ = reason;
  Unfollow();
  if (position_by_cam_ && !turns_only && reason == SyncReason::kCamUnexpected) {
    SearchAgain();
    return;
  }
  state_ = SyncState::kPositionKnown;
  phase_by_cam_ = false;
  ForgetUnexpected();
  undecided_ = 0;
  const int place = places_[0];
  for (int other = 0; other < crank_.size(); ++other) {
    if (other != place && crank_.SamePosition(other, place)) places_.push_back(other);
  }
}

// Nothing will ever tell the turns of a cycle apart, or places that look alike.
void Decoder::MissCamThatIsNotTold() {
  const bool in_turn = state_ == SyncState::kPositionKnown && !paired_ && places_.size() > 1;
  if (in_turn || (placing_ == 0 && CamMayPlace())) reason_ = SyncReason::kNoCamTold;
}

void Decoder::WatchForCam() {
  if (!turns_told_) MissCamThatIsNotTold();
  for (Witness& witness : witnesses_) WatchForPin(witness);
  for (const Witness& witness : witnesses_) {
    const auto since = static_cast<double>(edge_ - witness.last_edge);
    if (witness.places && !witness.by_level && since > kCyclesWithoutCam * crank_.size())
      OnMissingCam(witness);
  }
}

void Decoder::OnMissingCam(const Witness& witness) {
  if (position_by_cam_ && !witness.turns_only &&
      placing_ > 1) {  // the others cannot stand in for it
    if (state_ == SyncState::kSynchronised) ++losses_;
    if (state_ != SyncState::kSearching) SearchAgain();
    reason_ = SyncReason::kCamMissing;
  } else if (state_ == SyncState::kSynchronised) {
    if (phase_by_cam_) LosePhase(SyncReason::kCamMissing, witness.turns_only);
  } else if (state_ == SyncState::kPositionKnown || position_by_cam_ || !crank_.has_gap()) {
    reason_ = SyncReason::kCamMissing;
  }
}

}  // namespace drycrank::standin
