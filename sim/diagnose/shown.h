// SPDX-License-Identifier: Apache-2.0
//
// What the display says, judged by what was sent to it: its stand-in is given the frames that were
// read, so that no wire and no sensor has a part in it, and a byte order is decoded from the very
// bytes.
//
//   log L = sum over what it shows: log N(shown; by these layouts, deviation^2), a state equal or a
//           glitch (weigh.h)
//
// A wrong scale or offset x makes shown = a + b x: solved by least squares, and its integral is
// that of a normal distribution.
#ifndef DRYCRANK_DIAGNOSE_SHOWN_H_
#define DRYCRANK_DIAGNOSE_SHOWN_H_

#include <memory>
#include <optional>
#include <vector>

#include "diagnose/hypothesis.h"
#include "diagnose/predict.h"
#include "standin/display.h"

namespace drycrank::diagnose {

class Shown {
 public:
  // Both must outlive it.
  Shown(const Predictor& predictor, const Observation& observed);

  struct Fit {
    Hypothesis hypothesis;
    std::vector<double> shown;  // per fact; NaN: nothing
    double log_like = 0, log_area = 0;
    int glitches = 0;
  };
  const Fit& healthy() const { return healthy_; }
  // Is all that is shown what was sent?
  bool IsRight() const { return healthy_.glitches == 0; }
  // REQUIRES: a layout.
  Fit Solve(const Hypothesis& hypothesis);
  // Something else is wrong with what differs.
  double Unknown() const;
  bool Alike(const Fit& a, const Fit& b) const;
  // Of its glitches, those at a reading that comes and goes in these rows, and was seen within.
  int Passing(const Fit& fit, const PredictedRows& rows) const;
  // The display's readings in these rows are set to what `fit` has.
  void Fill(const Fit& fit, PredictedRows& rows) const;
  // What its glitches cost too much where the controller's value that is shown comes and goes in
  // these rows: the display was sent another before.
  double Spared(const Fit& fit, const std::vector<ControllerValues>& rows) const;

 private:
  struct Fact {
    std::size_t situation = 0, reading = 0;
    int value = 0;  // of the display's
    int gauge = 0;
    int sent = -1;  // of the controller's values, that which it shows
    double seen = 0, deviation = 1, span = 1;
    bool state = false;
  };
  std::vector<double> Predicted(const std::vector<profile::Fault>& faults);
  void Send(std::size_t situation);
  void Judge(Fit& fit) const;
  double CostOf(const Fact& fact, double predicted, bool& glitch) const;
  int SentTo(const profile::Gauge& gauge) const;
  double AsSent(const Fact& fact, double value) const;

  const Predictor& predictor_;
  const Observation& observed_;
  std::unique_ptr<standin::Display> display_;
  std::vector<Fact> facts_;
  Fit healthy_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_SHOWN_H_
