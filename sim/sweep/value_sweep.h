// SPDX-License-Identifier: Apache-2.0
//
// What a sweep sends of one readout while its message comes: all values up, then down, then those
// between which its limits lie. It says what it wants to see next, and is told what was seen, so
// that several readouts can be moved at the same time (together.h).
//
// A limit is halved between a value that is quiet and one that warns. Where on the way up or down it
// first warned, or was first quiet, is tried before: there a step is small, and few are left.
#ifndef DRYCRANK_SWEEP_VALUE_SWEEP_H_
#define DRYCRANK_SWEEP_VALUE_SWEEP_H_

#include <cstdint>
#include <functional>
#include <optional>
#include <set>
#include <vector>

#include "sweep/in_turns.h"
#include "sweep/readout_sweep.h"
#include "sweep/sent_range.h"

namespace drycrank::sweep {

class ValueSweep {
 public:
  // `renew`: as new, switched on or else acknowledged. `let_go`: of what is kept, where a key does
  // that; false: none does. Facts are added to `out`.
  struct Keys {
    std::function<void()> renew;
    std::function<bool()> let_go;
  };
  // It stays where it is: what is waited for holds its address.
  ValueSweep(const ValueSweep&) = delete;
  ValueSweep& operator=(const ValueSweep&) = delete;
  ValueSweep(const profile::Bench& bench, const profile::Readout& readout, Screen& screen,
             Swept& out, Keys keys);

  // Sends the next value, and says what of it has to be seen; nothing: it is at its end.
  std::optional<Screen::Wanted> Next();
  // REQUIRES: Next gave something. Nothing: the display told nothing of it.
  void Take(std::optional<Shown> shown);
  bool is_alive() const { return is_alive_; }
  const profile::Readout& readout() const { return readout_; }

 private:
  struct Edge {
    std::int64_t warns = 0, quiet = 0;
  };
  struct PointSeen {
    Step step = Step::kUp;
    std::int64_t number = 0;
    bool warned = false;
  };
  struct Look;  // what is waited for

  InTurns<bool> All();
  InTurns<bool> Point(Step step, std::int64_t number);
  InTurns<bool> Warns(std::int64_t from, std::int64_t number, bool has_warned, bool goes_on);
  InTurns<Edge> Halve(std::int64_t from, Edge edge, bool has_warned);
  InTurns<std::optional<std::int64_t>> QuietAwayFrom(std::int64_t far);
  InTurns<bool> Limit(Step limit, Step end, std::int64_t far);
  std::vector<std::int64_t> TurnedAt(std::int64_t from, std::int64_t to, bool has_warned) const;
  void Add(Step step, std::optional<double> input, Shown shown);
  void Say(Step step, const char* text);
  void AddEdge(Step step, const Edge& edge, const Shown& warning);
  bool Keeps() const { return readout_.keeps != profile::Keeps::kNothing; }

  const profile::Readout& readout_;
  profile::SignalRef at_;
  SentRange range_;
  Scale scale_;
  std::set<std::int64_t> numbers_;
  Screen& screen_;
  Swept& out_;
  Keys keys_;
  std::vector<PointSeen> points_;
  Shown last_;
  bool is_alive_ = true, has_begun_ = false;

  std::optional<Screen::Wanted> wanted_;
  std::optional<Shown> seen_;
  std::coroutine_handle<> waits_;
  InTurns<bool> all_;  // the last: it uses the others
};

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_VALUE_SWEEP_H_
