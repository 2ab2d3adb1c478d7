// SPDX-License-Identifier: Apache-2.0
//
// The trace that a verdict keeps: of any number of points at most kMaxTracePoints, all those next
// to the worst moment and, elsewhere, the least and the greatest of each of kBuckets spans of time.
// The spans double when the time grows beyond them, so nothing is allocated after construction and
// the length of the run need not be known.
//
//   . . : . : .  .:.:.::::::X:::::::.:  . : . .      X worst
//   <- extremes -><-- all points --><- extremes ->
//
// Rejected: keeping every n-th point. It loses the spike that a reader looks for.
#ifndef DRYCRANK_CHECK_EVIDENCE_H_
#define DRYCRANK_CHECK_EVIDENCE_H_

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "check/checker.h"
#include "types/time.h"

namespace drycrank::check {

class Trace {
 public:
  Trace();

  // REQUIRES: in time order. The first point with the smallest margin is the worst moment.
  void Add(const TracePoint& point, double margin);

  std::uint64_t count() const { return count_; }
  double worst_margin() const { return worst_margin_; }  // +infinity before the first point
  const TracePoint& worst() const { return worst_; }
  std::vector<TracePoint> Points() const;

 private:
  struct Bucket {
    bool used = false;
    TracePoint least, greatest;  // by `reported`
  };
  static constexpr std::size_t kBuckets = 200;
  static constexpr std::size_t kNear = 200;  // half before the worst moment, half after
  static_assert(2 * kBuckets + kNear <= kMaxTracePoints);

  void AddToBucket(const TracePoint& point);
  void HalveBuckets();
  void AddToRing(const TracePoint& point);

  std::uint64_t count_ = 0;
  double worst_margin_ = std::numeric_limits<double>::infinity();
  TracePoint worst_;

  std::vector<Bucket> buckets_;
  TimeNs origin_ns_ = 0;
  TimeNs span_ns_ = kNsPerMs;

  std::vector<TracePoint> ring_;  // the latest kNear points
  std::size_t ring_next_ = 0;
  std::vector<TracePoint> near_;  // around the worst, once enough came after it
  std::size_t wanted_after_ = 0;  // points still to come before `near_` is taken
};

// The plain verdict over a trace: worst margin, its moment, and failed when that is negative.
Verdict VerdictFrom(const Trace& trace, std::string quantity, std::string unit);

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_EVIDENCE_H_
