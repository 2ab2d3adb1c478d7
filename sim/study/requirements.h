// SPDX-License-Identifier: Apache-2.0
//
// Expectations against predictions: would an expectation be violated if a moment reported that?
//
//   follows, display_shows   every value of the prediction lies further from the stimulus than the
//                            tolerance; margin = the least of these distances less the tolerance
//   always, never            the condition is false, true, for every value
//   within, for_at_least,    the condition is false for every value: only if that is so in all
//   synchronised             moments that are judged, which the caller asks one by one
//   message_present, counter, checksum   the message would not come at all
//   fires_at, injects_at, order   the controller would not be synchronised
//   cam_edges                the cam's angle would not be measured
// Nothing is violated by what is restless, nor by what is not predicted. A value that would not be
// reported violates what needs one, by no number.
#ifndef DRYCRANK_STUDY_REQUIREMENTS_H_
#define DRYCRANK_STUDY_REQUIREMENTS_H_

#include <optional>
#include <string>
#include <vector>

#include "check/checker.h"
#include "diagnose/prediction.h"
#include "diagnose/reading.h"
#include "profile/scenario_file.h"
#include "study/moments.h"
#include "types/nth.h"

namespace drycrank::study {

struct Violation {
  double margin = 0;  // > 0: by so much too far, in `unit`; NaN: nothing would be reported
  std::string unit;
};

class Requirements {
 public:
  // All outlive it.
  Requirements(const profile::Bench& bench, const profile::Scenario& scenario,
               const std::vector<diagnose::Reading>& readings);

  // Expectations that are decided by this reading.
  const std::vector<int>& By(int reading) const { return Nth(by_reading_, reading); }
  int ReadingOf(int expectation) const { return Nth(readings_of_, expectation); }
  // Is the expectation judged in the moment, with time for a message after its settle_s?
  bool IsJudged(int expectation, const Moment& moment) const;
  // Does it speak of degrees? One that is wrong in degrees tells of wheels and settings, not of wires.
  bool IsOfDegrees(int expectation) const;
  // When its settle_s in the moment's step is over.
  TimeNs SettledNs(int expectation, const Moment& moment) const;
  // After its last report: when the next one was surely due.
  TimeNs PatienceNs(int expectation) const;
  // Does it take turns of the engine to form it?
  bool Turns(int reading) const;
  // How long after a fault came a reading may still be reported as if there were none.
  TimeNs LagNs(int reading, const diagnose::Prediction& predicted) const;
  // Is it violated by one moment, or only when all that are judged violate it?
  bool NeedsAllMoments(int expectation) const;
  std::optional<Violation> Violated(int expectation, const Moment& moment,
                                    const diagnose::Prediction& prediction) const;
  // How far a report may lie from a prediction and still be what was predicted.
  double Likeness(int expectation) const;

 private:
  struct Of;                               // by kind
  double PeriodMs(int expectation) const;  // REQUIRES: it has a reading

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  const std::vector<diagnose::Reading>& readings_;
  std::vector<profile::Readout> readouts_;    // what the display must show
  std::vector<int> readings_of_;              // per expectation; -1: not predicted
  std::vector<std::vector<int>> by_reading_;  // expectations
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_REQUIREMENTS_H_
