// SPDX-License-Identifier: Apache-2.0
//
// What controller and display would report in steady situations under given faults: the model that
// a diagnosis compares with what was seen.
//
//   stimuli ─ sensors ─► harness with faults ─► volts at each input, outputs off and each one on
//     analogue input    volts -> the controller's table, range fault, fallback
//     frequency input   which source crosses its thresholds, how often, how long low
//     what turns or switches   played for some seconds by the bench's own plant and the stand-in
//   values ─ frames ─► the display stand-in, fed with them ─► what it shows
//
// The healthy bench is predicted once; a fault costs what it changes. The decoder's answers are
// kept: most faults leave the trigger inputs as they are, and many of the others make the same of
// them.
#ifndef DRYCRANK_DIAGNOSE_PREDICT_H_
#define DRYCRANK_DIAGNOSE_PREDICT_H_

#include <memory>
#include <span>
#include <vector>

#include "diagnose/reading.h"
#include "diagnose/reports.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

class HealthyElectrical;
class Unheard;
struct Electrical;

class Predictor {
 public:
  // The bench must outlive it. REQUIRES: bench.controller.
  Predictor(const profile::Bench& bench, std::vector<Situation> situations);
  ~Predictor();

  const std::vector<Reading>& readings() const;
  const std::vector<Situation>& situations() const;
  const PredictedRows& healthy() const;
  // What the controller has there, before any frame rounds it; empty: it is silent.
  const std::vector<ControllerValues>& healthy_values() const;
  std::size_t value_count() const;  // of the controller
  const profile::Bench& bench() const;
  const HealthyElectrical& electrical() const;
  const Unheard& unheard() const;

  PredictedRows Predict(std::span<const profile::Fault> faults);
  // In another situation than the given ones.
  Predictions PredictAt(const Situation& situation, std::span<const profile::Fault> faults);

 private:
  friend class Trial;
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

// A fuse of a sensor's or controller's circuit: common practice, no source.
inline constexpr double kMostAmperes = 30;

// One set of faults, situation by situation in any order; a fault with `during` is there in those
// steps alone. The Predictor must outlive it.
class Trial {
 public:
  Trial(Predictor& predictor, std::span<const profile::Fault> faults);
  ~Trial();

  // Readings of situation `s` that are not as on the healthy bench; valid until the next call.
  std::span<const Change> Changes(std::size_t s);
  // What the controller has there; empty: it is silent. Valid until the next call. A short that
  // carries more than kMostAmperes has blown a fuse, or brought the supply to its limit. `wanted`:
  // a flag for each value; those without it may be the healthy bench's, and nothing is played for
  // them.
  const ControllerValues& Values(std::size_t s, const std::vector<bool>* wanted = nullptr);
  // As Values, of the wanted ones alone: the others may be the healthy bench's though they hold still.
  const ControllerValues& These(std::size_t s, const std::vector<bool>& wanted);
  // Of the situation asked last, the values that were not asked for and are the healthy bench's.
  const std::vector<bool>& left_out() const;
  // Of the situation asked last.
  const Electrical& electrical() const;
  // Decides in this situation which devices the fault concerns, as if Changes had been asked for it
  // first.
  void BeginWith(std::size_t s);

 private:
  friend class Predictor;
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_PREDICT_H_
