// SPDX-License-Identifier: Apache-2.0
//
// A run with a fault, predicted from the tape of another run in which the trigger and frequency inputs
// of the controller see the same edges, and in which the same parties hear each other on the buses. The stand-in is made of parts that do not hear each other:
//
//   edges ─► decoder, speeds, sparks                    taken over from the tape
//   volts at the analogue inputs of each sample ─► AnalogInput ─► values, faults, codes
//   values at each due instant ─► the frames that carry them; all other frames as on the tape
//   these frames ─► Display ─► its own frames;  all of them ─► Checker, Reported
//
// Only what the fault moves is made anew; the rest is the other run's. Where that cannot say it, there
// is no prediction: a value that moves is sent by event or multiplexed, ends a step, is asked for by
// a tester, is shown by a display that hears other frames than the tape has, or comes beyond a limit at which a protection may act. What the healthy tape does not give back to the byte, when all is made anew, is never
// predicted either.
#ifndef DRYCRANK_STUDY_REMAKE_H_
#define DRYCRANK_STUDY_REMAKE_H_

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "check/listened.h"
#include "diagnose/pin_states.h"
#include "plant/hearing.h"
#include "profile/bench.h"
#include "profile/fault.h"
#include "profile/scenario_file.h"
#include "study/limit_watch.h"
#include "study/reported.h"
#include "study/sparks.h"
#include "study/tape.h"

namespace drycrank::study {

// What of a run is compared with the healthy one.
struct Outcome {
  Reported reported;
  Sparks sparks;
  std::vector<bool> met = {};     // per expectation
  std::vector<bool> stored = {};  // per trouble code (TroubleCodesOf)
};

// When an analogue channel's fault began, in a run.
struct FaultBegun {
  std::size_t sample = 0, channel = 0;
};

// A run that others are predicted from. What it refers to outlives it.
struct Base {
  Base(const profile::Bench& bench, const diagnose::PinStates& pins, const Tape& played,
       const Outcome& came_of_it, const diagnose::PinStates::Rows& behind,
       std::vector<plant::Hearing> who_hears_whom);

  const Tape& tape;
  const Outcome& outcome;
  const diagnose::PinStates::Rows& rows;
  const std::vector<plant::Hearing> hearing;  // per bus
  std::vector<FaultBegun> faults;             // in the order of time
};

// Those of the diagnostics, then those of J1939.
std::vector<const profile::TroubleCode*> TroubleCodesOf(const profile::Controller& controller);

class Remake {
 public:
  // All three outlive it; `healthy` is used here alone.
  Remake(const profile::Bench& bench, const profile::Scenario& scenario,
         const diagnose::PinStates& pins, const Base& healthy);

  // Does this kind of fault leave wheels, sensors and buses as they are?
  static bool MayBePredicted(const profile::Bench& bench, const profile::Fault& fault);
  // `rows`: behind the faults, which make the same edges as those of the base.
  std::optional<Outcome> Predict(const Base& base, std::span<const profile::Fault> faults,
                                 const diagnose::PinStates::Rows& rows) const;

 private:
  using PerMessage = std::vector<std::vector<bool>>;  // [bus][message]
  struct Moved {
    std::vector<bool> channels;  // analogue
    std::vector<bool> values;    // of the controller
    std::vector<bool> gauges;
    PerMessage messages;  // that carry any of it
    bool display = false;
  };
  class Pass;

  int ValueIndex(const std::string& name) const;
  PerMessage NoMessages() const;
  bool Hears(const Base& base, std::size_t bus, profile::Sender from, plant::Party to) const;
  bool HearsOtherFrames(const Base& base, const Moved& moved) const;
  Moved AllMoved(const Base& healthy) const;
  Moved WhatMoves(const Base& base, std::span<const profile::Fault> faults,
                  const diagnose::PinStates::Rows& rows) const;
  void MoveMessages(const Base& base, std::span<const profile::Fault> faults, Moved& moved) const;
  bool IsCarriedBy(const profile::Message& message, const Moved& moved) const;
  bool IsOfGauge(const profile::Signal& signal, const Moved& moved) const;
  bool IsShown(std::size_t gauge, const Base& base, std::span<const profile::Fault> faults,
               const Moved& moved) const;
  bool IsHeard(const profile::Message& message, const Moved& moved) const;
  bool CanBeSaid(const Base& base, const Moved& moved) const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  const diagnose::PinStates& pins_;
  std::vector<std::string> names_;   // of the controller's values
  std::vector<int> inputs_;          // per analogue channel
  std::vector<int> channel_values_;  // per analogue channel; its fault is the next
  std::vector<const profile::TroubleCode*> codes_;
  std::vector<int> code_channels_;         // per code: analogue channel; -1: none
  std::vector<check::Listened> listened_;  // per expectation
  LimitWatch limits_;
  PerMessage unlike_;  // not given back by the healthy tape
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_REMAKE_H_
