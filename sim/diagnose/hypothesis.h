// SPDX-License-Identifier: Apache-2.0
//
// Every fault that the schedule of a bench allows, one at a time: what a diagnosis chooses among.
//
//   each terminal open · each circuit open · each splice broken open
//   each pair of neighbouring pins shorted · each pair of pins of one connector swapped
//   any two connectors of one family swapped · each circuit short to ground, to supply
//   series resistance in each terminal · each sensor, each trigger wheel's pickup not fitted
//   each trigger wheel mounted late, a tooth of it gone, its coil weak or its Hall sensor inverted, its cam
//   phaser stuck · each analogue channel's calibration
//   each gauge's byte order, scale, offset · each message of the controller missing
//
// A fault with a quantity (ohm, degrees, gain) is a family of hypotheses on a coarse grid; rank.h
// refines it. Priors: profile/fault_priors.h, and what the bench says otherwise.
#ifndef DRYCRANK_DIAGNOSE_HYPOTHESIS_H_
#define DRYCRANK_DIAGNOSE_HYPOTHESIS_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

// Which number of a fault is unknown.
enum class Quantity { kNone, kOhm, kDeg, kGain, kOffset, kScale, kVolts, kSpan };

struct Hypothesis {
  std::vector<profile::Fault> faults;  // all at once; one, but for a splice or a double fault
  std::string kind;                    // "open", "terminals swapped", ... for tables
  double prior = 1;
  Quantity quantity = Quantity::kNone;
  double value = 0;                    // of the quantity, as set in faults[0]; or which tooth, if known
  double low = 0, high = 0;            // between which it may lie
  std::vector<Hypothesis> parts = {};  // of two faults at once, each; the quantity is the first's

  // Is its size spread evenly over decades, rather than over its range?
  bool IsLogarithmic() const {
    return quantity == Quantity::kOhm || quantity == Quantity::kGain ||
           quantity == Quantity::kScale || quantity == Quantity::kSpan;
  }
};

// Two at once, each at its size; the second alone where the first is nothing. Their prior is the
// product.
Hypothesis Both(const Hypothesis& a, const Hypothesis& b);
// The same fault with its quantity at `value`.
Hypothesis WithValue(const Hypothesis& hypothesis, double value);

// "wire open between CLT.1 and ECU.20 (circuit coolant_signal)": what a fitter would look for.
std::string Describe(const profile::Bench& bench, const Hypothesis& hypothesis);

// Healthy is none of them. One for each size of a coarse grid: what a campaign plays.
std::vector<Hypothesis> SingleFaults(const profile::Bench& bench);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_HYPOTHESIS_H_
