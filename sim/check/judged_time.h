// SPDX-License-Identifier: Apache-2.0
//
// When an expectation is judged: its steps without what settles (judge.h), less the stretches in
// which its buses could not be observed. Drives the judge's Begin, Open, Pause, Resume, Close and
// Abandon.
#ifndef DRYCRANK_CHECK_JUDGED_TIME_H_
#define DRYCRANK_CHECK_JUDGED_TIME_H_

#include <string>
#include <vector>

#include "check/checker.h"
#include "check/judge.h"
#include "profile/scenario_file.h"
#include "types/time.h"

namespace drycrank::check {

class JudgedTime {
 public:
  JudgedTime(const profile::Scenario& scenario, const profile::Expectation& expectation);

  void OnStep(std::size_t step, TimeNs t_ns, Judge& judge);
  // Whether something that happens now is judged.
  bool IsOpen(TimeNs t_ns, Judge& judge);
  void End(TimeNs t_ns, Judge& judge);
  // Several buses may be lost at once; the first one is named.
  void Lose(TimeNs t_ns, const std::string& bus, const std::string& why, Judge& judge);
  void Regain(TimeNs t_ns);

  const std::vector<Stretch>& stretches() const { return stretches_; }
  std::size_t stretch_count() const { return stretch_count_; }
  TimeNs longest_open_ns() const { return longest_open_ns_; }
  TimeNs settle_ns() const { return settle_ns_; }
  // Its steps came, but each was over before it had settled.
  bool was_too_short() const { return came_ && !was_open_; }

 private:
  void EndPiece(TimeNs t_ns);
  void Note(TimeNs end_ns);

  std::vector<bool> named_;  // by step
  TimeNs settle_ns_;
  bool on_ = false, open_ = false;
  bool came_ = false, was_open_ = false;  // ever
  bool opened_ = false;  // since it was last on
  bool cut_ = false;     // a stretch was cut out since it was last on
  TimeNs begun_ns_ = 0, settled_ns_ = 0, piece_ns_ = 0, longest_open_ns_ = 0;

  int lost_buses_ = 0;
  Stretch lost_;  // the one that is on
  std::vector<Stretch> stretches_;
  std::size_t stretch_count_ = 0;
};

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_JUDGED_TIME_H_
