// SPDX-License-Identifier: Apache-2.0
//
// The input circuit of a trigger or frequency channel: a comparator with hysteresis that turns the
// wave at a terminal into logic edges at their exact crossing times.
//
//   kThreshold      high at or above high_v, low at or below low_v
//   kZeroCrossing   falling edge: high at or above +arm_v, low at 0 V; rising edge: low at or below
//                   -arm_v, high at 0 V. So a lobe too small to arm makes no edge at all. An input
//                   that adapts asks for arm_share of the highest voltage of the last kLobesKept lobes as
//                   well, whether or not these armed: a lobe ends where the wave comes back to 0 V. One
//                   lobe alone would not do: noise near zero makes small ones between the teeth's.
//
// A piece tells the future of the wave: its crossings wait here, and those at or after the begin of
// the next piece are dropped when that piece comes, for from there on the next piece is the truth.
// Equal begin_v and end_v, and straight pieces, are solved in closed form; else each of the piece's
// two monotone parts has at most one root, found by Newton steps kept inside a shrinking bracket.
#ifndef DRYCRANK_STANDIN_COMPARATOR_H_
#define DRYCRANK_STANDIN_COMPARATOR_H_

#include <array>
#include <cstdint>
#include <vector>

#include "profile/bench.h"
#include "types/time.h"
#include "types/wave.h"

namespace drycrank::standin {

class Comparator {
 public:
  // REQUIRES: low_v < high_v.
  Comparator(double high_v, double low_v) : high_v_(high_v), low_v_(low_v), pending_(kCapacity) {}
  static Comparator For(const profile::TriggerChannel& channel);

  // The wave from piece.begin_ns on. Pieces come in order of their begin.
  void OnPiece(const Wave& piece);

  // Time of the earliest edge not taken yet, as far as the pieces tell; kNever when there is none.
  TimeNs next_ns() const { return count_ == 0 ? kNever : pending_[head_].t_ns; }
  // Above the threshold, as far as the edges are taken.
  bool level() const { return count_ == 0 ? level_ : !pending_[head_].high; }
  // Takes that edge; returns the new level. REQUIRES: next_ns() != kNever.
  bool Take();

  std::int64_t dropped() const { return dropped_; }  // edges lost because nobody took them

 private:
  struct Pending {
    TimeNs t_ns = 0;
    bool high = false;
  };
  // 60 teeth at 20,000 r/min make 40,000 edges a second: room for 100 ms between two Advances.
  static constexpr std::size_t kCapacity = 4096;  // a power of two

  void Adapt(const Wave& next);
  void DropFrom(TimeNs begin_ns);
  void Push(TimeNs t_ns);
  void Settle(TimeNs t_ns, double v);
  void FollowPart(const Wave& piece, double from_x, double from_v, double to_x, double to_v);

  double high_v_;
  double low_v_;
  double arm_share_ = 0;  // 0: does not adapt
  double arm_v_ = 0;      // > 0: arms above, as high_v_; < 0: below, as low_v_
  Wave last_;             // up to the begin of the next
  double lobe_v_ = 0;     // highest so far, as seen towards arm_v_
  static constexpr std::size_t kLobesKept = 3;
  std::array<double, kLobesKept> lobes_v_{};  // a ring
  std::size_t oldest_lobe_ = 0;
  bool started_ = false;
  bool level_ = false;            // after the last pending edge
  std::vector<Pending> pending_;  // ring
  std::size_t head_ = 0;
  std::size_t count_ = 0;
  std::int64_t dropped_ = 0;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_COMPARATOR_H_
