// SPDX-License-Identifier: Apache-2.0
#include "check/evidence.h"

#include <algorithm>
#include <utility>

#include "types/nth.h"

namespace drycrank::check {
namespace {

bool Earlier(const TracePoint& a, const TracePoint& b) { return a.t_ns < b.t_ns; }

// A ring whose oldest point is at `oldest`, put in order.
void Unroll(std::vector<TracePoint>& ring, std::size_t oldest) {
  std::rotate(ring.begin(), ring.begin() + static_cast<std::ptrdiff_t>(oldest), ring.end());
}

}  // namespace

Trace::Trace() : buckets_(kBuckets) {
  ring_.reserve(kNear);
  near_.reserve(kNear);
}

void Trace::Add(const TracePoint& point, double margin) {
  if (count_++ == 0) origin_ns_ = point.t_ns;
  AddToBucket(point);
  AddToRing(point);
  if (margin < worst_margin_) {
    worst_margin_ = margin;
    worst_ = point;
    wanted_after_ = kNear / 2;
  } else if (wanted_after_ > 0 && --wanted_after_ == 0) {
    near_.assign(ring_.begin(), ring_.end());
    Unroll(near_, ring_next_);
  }
}

void Trace::AddToBucket(const TracePoint& point) {
  const TimeNs since_ns = std::max<TimeNs>(0, point.t_ns - origin_ns_);
  auto index = AsSize(since_ns / span_ns_);
  while (index >= kBuckets) {
    HalveBuckets();
    index /= 2;
  }
  Bucket& bucket = buckets_[index];
  if (!bucket.used) {
    bucket = {true, point, point};
    return;
  }
  if (point.reported < bucket.least.reported) bucket.least = point;
  if (point.reported > bucket.greatest.reported) bucket.greatest = point;
}

void Trace::HalveBuckets() {
  span_ns_ *= 2;
  for (std::size_t i = 0; i < kBuckets; i += 2) {
    Bucket both = buckets_[i].used ? buckets_[i] : buckets_[i + 1];
    if (buckets_[i].used && buckets_[i + 1].used) {
      const Bucket& later = buckets_[i + 1];
      if (later.least.reported < both.least.reported) both.least = later.least;
      if (later.greatest.reported > both.greatest.reported) both.greatest = later.greatest;
    }
    buckets_[i / 2] = both;
  }
  std::fill(buckets_.begin() + kBuckets / 2, buckets_.end(), Bucket{});
}

void Trace::AddToRing(const TracePoint& point) {
  if (ring_.size() < kNear) {
    ring_.push_back(point);
    return;
  }
  ring_[ring_next_] = point;
  ring_next_ = (ring_next_ + 1) % kNear;
}

std::vector<TracePoint> Trace::Points() const {
  std::vector<TracePoint> points = near_;
  if (wanted_after_ > 0 || near_.empty()) {
    points = ring_;
    Unroll(points, ring_next_);
  }
  if (points.empty()) return points;
  std::stable_sort(points.begin(), points.end(), Earlier);
  const TimeNs first_ns = points.front().t_ns, last_ns = points.back().t_ns;
  const auto far_off = [&](const TracePoint& p) { return p.t_ns < first_ns || p.t_ns > last_ns; };
  for (const Bucket& bucket : buckets_) {
    if (!bucket.used) continue;
    if (far_off(bucket.least)) points.push_back(bucket.least);
    if (bucket.greatest.t_ns != bucket.least.t_ns && far_off(bucket.greatest)) {
      points.push_back(bucket.greatest);
    }
  }
  std::stable_sort(points.begin(), points.end(), Earlier);
  return points;
}

Verdict VerdictFrom(const Trace& trace, std::string quantity, std::string unit) {
  Verdict verdict;
  verdict.margin_unit = unit;
  verdict.judged = trace.count();
  verdict.evidence = {std::move(quantity), std::move(unit), trace.Points()};
  if (trace.count() == 0) return verdict;
  verdict.margin = trace.worst_margin();
  verdict.allowed = trace.worst().tolerance;
  verdict.worst_ns = trace.worst().t_ns;
  verdict.outcome = verdict.margin < 0 ? Outcome::kFailed : Outcome::kMet;
  return verdict;
}

}  // namespace drycrank::check
