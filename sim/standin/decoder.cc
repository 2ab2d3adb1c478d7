// SPDX-License-Identifier: Apache-2.0
#include "standin/decoder.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <utility>

#include "types/nth.h"

namespace drycrank::standin {
namespace {

constexpr double kBackAtSpeed = 1.2;
constexpr double kTurnsWithoutGap = 1.5;
// Speed is measured over whole firing intervals, at least half a turn, at most a turn.
constexpr double kMinSpeedSpanDeg = 180;
constexpr double kMaxSpeedSpanDeg = 360;

constexpr double RpmFrom(double deg, double ns) { return deg / ns * (1e9 / 6.0); }

double SpeedSpanDeg(const profile::Decoder& decoder, double cycle_deg) {
  const double cylinders = std::max<double>(1, static_cast<double>(decoder.firing_order.size()));
  const double firing_deg = cycle_deg / cylinders;
  return std::min(kMaxSpeedSpanDeg, std::ceil(kMinSpeedSpanDeg / firing_deg) * firing_deg);
}

double CycleDeg(const profile::Decoder& decoder) { return decoder.strokes == 2 ? 360.0 : 720.0; }

// A controller without triggers has a wheel without teeth: it never finds anything.
const profile::TriggerChannel& Channel(const profile::Controller& controller, int index) {
  static const profile::TriggerChannel kNoTrigger;
  if (controller.triggers.empty()) return kNoTrigger;
  return Nth(controller.triggers, index);
}

}  // namespace

Decoder::Decoder(const profile::Controller& controller)
    : crank_(Channel(controller, controller.decoder.primary), CycleDeg(controller.decoder),
             controller.decoder.ratio_tolerance),
      usual_(crank_, controller.decoder.ratio_tolerance),
      position_by_cam_(crank_.Twin() >= 0),
      paired_(controller.decoder.firing == profile::Firing::kPaired),
      stall_ns_(controller.decoder.stall_ms * 1e6),
      speed_span_deg_(SpeedSpanDeg(controller.decoder, crank_.cycle_deg())) {
  for (const int index : controller.decoder.cams) {
    cams_.emplace_back(Channel(controller, index), crank_.cycle_deg());
  }
  witnesses_.resize(cams_.size());
  for (const Reference& reference : FindReferences(controller, crank_).taken) {
    Witness& witness = Nth(witnesses_, reference.cam);
    witness.places = true;
    const profile::TriggerChannel& channel =
        Channel(controller, Nth(controller.decoder.cams, reference.cam));
    witness.turns_only = reference.turns_only;
    witness.by_level = channel.by_level;
    by_level_ = by_level_ || channel.by_level;
    ++placing_;
    if (!channel.by_level) placing_edges_ += Nth(cams_, reference.cam).size();
    turns_told_ = turns_told_ || channel.shaft == profile::Shaft::kCam;
  }
  for (std::size_t cam = 0; cam < witnesses_.size(); ++cam) {
    const profile::TriggerChannel& channel = Channel(controller, controller.decoder.cams[cam]);
    witnesses_[cam].is_pin = !witnesses_[cam].places && channel.shaft == profile::Shaft::kCrank &&
                             !channel.by_level && crank_.has_gap();
    has_pin_ = has_pin_ || witnesses_[cam].is_pin;
  }
  const auto edges = AsSize(crank_.size());
  places_.reserve(edges);
  edge_ns_.resize(std::bit_ceil(edges + 2));
  const double mean_interval_deg = crank_.cycle_deg() / std::max(1, crank_.size());
  speed_intervals_ = std::clamp(static_cast<int>(std::lround(speed_span_deg_ / mean_interval_deg)),
                                std::min(1, crank_.size()), crank_.size());
}

void Decoder::OnCrankEdge(TimeNs t_ns) {
  Advance(t_ns);
  if (crank_.size() == 0) return;
  if (state_ == SyncState::kStopped) {
    Begin(t_ns);
    return;
  }
  const double interval_ns = static_cast<double>(std::max<TimeNs>(1, t_ns - last_ns_));
  const double ratio = interval_ns_ > 0 ? interval_ns / interval_ns_ : 0;
  came_early_ = false;
  const bool was_synchronised = state_ == SyncState::kSynchronised;
  const int last_place = places_[0];
  const bool has_ratio = interval_ns_ > 0;
  interval_ns_ = interval_ns;
  last_ns_ = t_ns;
  EdgeTime(++edge_) = t_ns;
  if (late_place_ >= 0) JudgeLateEdge();
  if (has_ratio) Test(ratio);
  if (has_pin_ && state_ != SyncState::kSearching) CompareWithLastCycle(ratio);
  AskForPosition();
  for (std::size_t cam = 0; by_level_ && cam < cams_.size(); ++cam) {
    PlaceByLevel(static_cast<int>(cam));
  }
  WatchForGap();
  WatchForCam();
  MeasureSpeed(t_ns);
  if (was_synchronised && state_ == SyncState::kSynchronised && places_[0] <= last_place) ++cycles_;
}

void Decoder::Begin(TimeNs t_ns) {
  state_ = SyncState::kSearching;
  edge_ = 0;
  EdgeTime(0) = t_ns;
  last_ns_ = t_ns;
  interval_ns_ = 0;
  for (Witness& witness : witnesses_) witness.last_edge = 0;
  SearchAgain();
}

void Decoder::SearchAgain() {
  state_ = SyncState::kSearching;
  places_.clear();
  for (int place = 0; place < crank_.size(); ++place) places_.push_back(place);
  tested_ = 0;
  phase_by_cam_ = false;
  for (Witness& witness : witnesses_) witness.agrees = false;
  search_edge_ = edge_;
  doubt_edge_ = edge_;
  gap_edge_ = edge_;
  usual_.Forget();
  ForgetUnexpected();
  undecided_ = 0;
  early_cam_count_ = 0;
}

void Decoder::Test(double ratio) {
  std::size_t kept = 0;
  for (std::size_t i = 0; i < places_.size(); ++i) {
    const int place = crank_.Next(places_[i]);
    if (crank_.Allows(place, ratio)) places_[kept++] = place;
  }
  if (kept == 0) {
    Lost(ratio);
    return;
  }
  places_.resize(kept);
  if (tested_ < 2 * crank_.size()) ++tested_;
}

void Decoder::Lost(double ratio) {
  const int place = crank_.Next(places_[0]);
  const std::int64_t search_edge = search_edge_;
  const bool searching = state_ == SyncState::kSearching;
  if (!searching && ratio > crank_.ExpectedRatio(place)) {
    late_place_ = place;
    late_speed_ = crank_.interval_deg(place) / interval_ns_;
  } else if (!searching) {
    ++losses_;
    reason_ = SyncReason::kToothEarly;
    came_early_ = true;
  }
  SearchAgain();
  if (searching) search_edge_ = search_edge;  // still the same search
  std::erase_if(places_, [&](int p) { return !crank_.Allows(p, ratio); });
  if (places_.empty()) {
    for (int p = 0; p < crank_.size(); ++p) places_.push_back(p);
  } else {
    tested_ = 1;
  }
}

// The edge after a late one tells what it was: back at speed, an edge was missing; slower still,
// the engine is coming to a stop.
void Decoder::JudgeLateEdge() {
  const int place = crank_.Next(std::exchange(late_place_, -1));
  const double speed = crank_.interval_deg(place) / interval_ns_;
  if (speed <= late_speed_ * kBackAtSpeed) return;
  ++losses_;
  reason_ = SyncReason::kToothLate;
}

void Decoder::AskForPosition() {
  if (state_ != SyncState::kSearching || tested_ == 0) return;
  if (crank_.has_gap() && early_cam_count_ > 0 && CamMayPlace()) PlaceEarlyCamEdges();
  if (state_ != SyncState::kSearching || !PlacesDifferByTurns()) return;
  if (crank_.has_gap() ? GapSeen() : !position_by_cam_) PositionKnown();
}

bool Decoder::PlacesDifferByTurns() const {
  if (static_cast<double>(places_.size()) * 360.0 > crank_.cycle_deg()) return false;
  return std::all_of(places_.begin(), places_.end(),
                     [&](int place) { return crank_.SamePosition(places_[0], place); });
}

// A gap lies among the intervals whose ratios to both neighbours have been tested.
bool Decoder::GapSeen() const {
  const int look_back = std::min(tested_, crank_.size());
  for (int by = 1; by < look_back; ++by) {
    if (crank_.IsGap(crank_.Back(places_[0], by))) return true;
  }
  return false;
}

void Decoder::PositionKnown() {
  state_ = SyncState::kPositionKnown;
  if (places_.size() == 1) {
    Synchronised();
    return;
  }
  if (paired_ && !turns_told_ && PinsAgree()) reason_ = SyncReason::kNone;
  PlaceEarlyCamEdges();
}

void Decoder::PlaceEarlyCamEdges() {
  const std::size_t count = std::exchange(early_cam_count_, 0);
  for (std::size_t i = 0; i < count; ++i) {
    const CamEdge& edge = early_cam_edges_[i];
    if (edge_ - edge.crank_edge < tested_) PlaceCamEdge(edge);
  }
}

void Decoder::Synchronised() {
  if (!PinsAgree()) {
    state_ = SyncState::kPositionKnown;
    return;
  }
  state_ = SyncState::kSynchronised;
  reason_ = SyncReason::kNone;
  undecided_ = 0;
}

void Decoder::WatchForGap() {
  if (state_ != SyncState::kSearching || !crank_.has_gap()) return;
  const double per_turn = crank_.size() * 360.0 / crank_.cycle_deg();
  if (static_cast<double>(edge_ - search_edge_) <= kTurnsWithoutGap * per_turn) return;
  if (CamMayPlace()) return;  // there are gaps; which is which the cam must say
  const bool explained = reason_ == SyncReason::kToothEarly || reason_ == SyncReason::kToothLate;
  if (!explained) reason_ = SyncReason::kGapNotFound;
}

void Decoder::MeasureSpeed(TimeNs t_ns) {
  if (state_ == SyncState::kSearching) {
    // The gap is not known yet; of two neighbours, at most one is a gap.
    const double before_ns =
        edge_ >= 2 ? static_cast<double>(EdgeTime(edge_ - 1) - EdgeTime(edge_ - 2)) : interval_ns_;
    speed_rpm_ = RpmFrom(crank_.min_interval_deg(), std::min(interval_ns_, before_ns));
    return;
  }
  const std::int64_t known = std::min<std::int64_t>(edge_, std::max(1, tested_ + 1));
  const int count = static_cast<int>(std::min<std::int64_t>(known, speed_intervals_));
  speed_rpm_ = RpmFrom(crank_.SpanDeg(places_[0], count),
                       static_cast<double>(t_ns - EdgeTime(edge_ - count)));
}

double Decoder::speed_rpm() const {
  if (state_ == SyncState::kStopped || edge_ < 1) return 0;
  const auto waiting_ns = static_cast<double>(now_ns_ - last_ns_);
  if (waiting_ns <= 0) return speed_rpm_;
  // No edge for much longer than the longest interval takes: it is slower than that by now. Twice,
  // because at the slow point of the ripple an interval lasts longer than its mean.
  return std::min(speed_rpm_, RpmFrom(2 * crank_.max_interval_deg(), waiting_ns));
}

void Decoder::Advance(TimeNs t_ns) {
  now_ns_ = std::max(now_ns_, t_ns);
  if (state_ == SyncState::kStopped) return;
  if (static_cast<double>(t_ns - last_ns_) > stall_ns_) Stop(SyncReason::kNoTeeth);
}

void Decoder::Stop(SyncReason reason) {
  state_ = SyncState::kStopped;
  reason_ = reason;
  speed_rpm_ = 0;
  edge_ = -1;
  interval_ns_ = 0;
  late_place_ = -1;
  for (Cam& cam : cams_) cam.Reset();
}

}  // namespace drycrank::standin
