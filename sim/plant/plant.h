// SPDX-License-Identifier: Apache-2.0
//
// The bench's physical side: stimuli -> crank motion -> wheels -> pickups, stimuli -> sensors, all of
// it through the harness, to voltages at the controller's inputs. What comes out is what a probe on
// those terminals would see: waves as they begin, and voltages when asked.
//
// Levels of switched inputs are solved once per combination of switching outputs and kept for 100 ms
// of simulated time: slow sensors move them by less than the input's hysteresis. The voltage of a
// variable-reluctance input is base + gain * EMF, its lobes handed on as half sines. Where several
// coils reach one input (a short between two circuits), or a switched output lifts it, the sum is
// handed on as straight pieces of 20 us.
#ifndef DRYCRANK_PLANT_PLANT_H_
#define DRYCRANK_PLANT_PLANT_H_

#include <bitset>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "engine/motion.h"
#include "plant/disturbances.h"
#include "plant/feed.h"
#include "plant/pulse_train.h"
#include "plant/sources.h"
#include "plant/step_guard.h"
#include "plant/wiring.h"
#include "profile/bench.h"
#include "scenario/timeline.h"
#include "trigger/trigger_stream.h"
#include "types/crank_motion.h"
#include "types/limits.h"
#include "types/random.h"
#include "types/source.h"
#include "types/wave.h"

namespace drycrank::plant {

class WaveSink {
 public:
  virtual ~WaveSink() = default;
  // The voltage at controller input `input` from piece.begin_ns on.
  virtual void OnWave(int input, const Wave& piece) = 0;
  // The crank moves so from now on: before any wave that comes of it.
  virtual void OnMotion(const CrankMotion& /*motion*/) {}
  // At the sensor, from emf.begin_ns on: a coil's volts, plus against minus; a Hall sensor's 1 (conducts) or 0.
  virtual void OnEmf(int /*trigger*/, const Wave& /*emf*/) {}
  // Does it look at them?
  virtual bool WatchesEmf() const { return true; }
  // The cam of a trigger is advanced by so many crank degrees; at each sample, and at each step.
  virtual void OnAdvance(int /*trigger*/, double /*deg*/, TimeNs /*t_ns*/) {}
};

class Plant {
 public:
  // Bench, timeline and sink must outlive it. Its harness is a network of its own.
  Plant(const profile::Bench& bench, const scenario::Timeline& timeline, std::uint64_t seed,
        WaveSink& sink);
  // The same behind this wiring, which must outlive it.
  Plant(const profile::Bench& bench, const scenario::Timeline& timeline, std::uint64_t seed,
        WaveSink& sink, Wiring& wiring);

  // Before the first step. Waves are handed on at these inputs alone; at all unless told.
  void HearOnly(std::span<const int> inputs) { heard_.assign(inputs.begin(), inputs.end()); }
  // Crank and cams are what the feed gives; wheels that it does not have stand still, and no motion is
  // told. It must outlive the plant. After HearOnly.
  void Follow(Feed& feed);
  // The output of this pulse sensor stays off, as one that nobody feels.
  void HoldOff(int sensor);
  // The timeline's tracks changed at t_ns.
  void OnStep(TimeNs t_ns);
  // The faults in force from t_ns on.
  void SetFaults(TimeNs t_ns, Faults faults);

  // Never before the one that was taken last.
  TimeNs NextEventNs() const { return next_ns_; }
  // REQUIRES: NextEventNs() != kNever. Waves go to the sink.
  void TakeEvent();
  // Where events came without end (step_guard.h); from then on there are none. kNever: all is well.
  TimeNs stuck_ns() const { return stuck_ns_; }

  // Voltages at the inputs at t_ns; also brings cam advances and sensors up to date.
  void Sample(TimeNs t_ns, std::span<double> input_v);
  double SupplyV() const { return wiring_.ControllerSupply(); }
  double ReferenceV(int index) const { return wiring_.Reference(index); }
  const engine::Motion& motion() const { return motion_; }
  // How often the network had no state that agrees with itself (harness.h), all faults so far.
  int unsettled_count() const { return wiring_.unsettled_count(); }
  // How long the harness' answer for one combination of switched outputs is kept.
  static constexpr TimeNs kLevelsKeptNs = 100 * kNsPerMs;

 private:
  // Which devices conduct; only those whose output switches ever do.
  using Switched = std::bitset<kMaxTriggers + kMaxSensors>;
  struct Levels {  // harness answer for one combination of switched outputs
    Switched on;
    std::vector<double> input_v;  // of those that are heard
    std::vector<double> gain;     // [coil * inputs + input]
  };
  struct Pulse {
    int sensor = 0;
    Source source;
    PulseTrain train;
  };

  Plant(const profile::Bench& bench, const scenario::Timeline& timeline, std::uint64_t seed,
        WaveSink& sink, std::unique_ptr<Wiring> own);
  bool StimuliHold() const;
  Source SourceAt(int sensor, TimeNs t_ns) const;
  void UpdateSensors(TimeNs t_ns);
  void BeginMotion(TimeNs t_ns);
  trigger::Advance AdvanceAt(std::size_t trigger, TimeNs t_ns) const;
  void UpdateAdvances(TimeNs t_ns);
  void TellMovingAdvances(TimeNs t_ns);
  bool AdvanceIsStepped(std::size_t trigger) const;
  void RestartTriggers(TimeNs t_ns);
  const Levels& LevelsNow(TimeNs t_ns);
  void FindCoils(const Levels& levels);
  void StopUnheardCoils(TimeNs t_ns);
  void EmitLevels(TimeNs t_ns);
  void EmitLobe(int channel, TimeNs t_ns, bool goes_on);
  void EmitCoil(int coil, TimeNs t_ns, const Wave& emf);
  void EmitDense(TimeNs t_ns);
  double DenseVolts(const Levels& levels, int input, TimeNs t_ns) const;
  void TakeTrigger();
  void TakeFed();
  void FeedSensor(std::size_t trigger, const Wave& wave);
  void TakePulse(Pulse& pulse);
  TimeNs NoiseDueNs() const;
  void SetNoise(TimeNs t_ns);
  void TakeNoise();
  void EmitDisturbed(std::size_t trigger, TimeNs t_ns);
  void SetSwitch(int device, bool conducting);
  void SetHall(std::size_t trigger, bool metal);
  double CoilStrength(std::size_t trigger) const;
  double DisturbanceV(int coil) const;
  void FindNext();

  const profile::Bench& bench_;
  const scenario::Timeline& timeline_;
  WaveSink& sink_;
  Random noise_;
  engine::Motion motion_;
  trigger::TriggerStream triggers_;
  std::vector<const profile::Fault*> faults_;
  std::vector<PickupFault> pickup_faults_;  // per trigger
  std::vector<Disturbances> disturbed_;     // per trigger
  bool is_disturbed_ = false;               // any of them
  bool has_turned_ = false;                 // the crank, in the stretch before
  std::vector<trigger::Advance> advances_;  // per trigger, as last given ...
  std::vector<double> advance_before_deg_;  // ... and where it was just before
  std::unique_ptr<Wiring> own_;             // null: it was given
  Wiring& wiring_;
  std::vector<double> values_;     // per device, with all coils at 0 V
  std::vector<int> coil_devices_;  // devices that are variable-reluctance coils (triggers)
  std::vector<int> coil_of_trigger_;
  Switched on_;
  std::vector<Levels> cache_;
  std::size_t cached_ = 0;
  std::size_t found_ = 0;   // of the cache, what was asked for last ...
  bool switched_ = true;    // ... and something has switched since
  TimeNs cache_until_ns_ = 0;
  std::vector<Wave> lobes_;  // per coil, its EMF
  std::vector<double> lobe_noise_v_;
  std::vector<Pulse> pulses_;
  bool stimuli_hold_ = false;  // what the sensors give stays as it is until the next step or fault
  std::vector<int> heard_;     // inputs whose waves are handed on
  std::vector<double> level_v_;  // last level handed on, per input
  std::vector<int> input_coil_;  // the one coil that reaches an input, -1 none, -2 dense
  bool any_dense_ = false;
  Feed* feed_ = nullptr;
  std::vector<bool> is_fed_;            // per trigger
  std::vector<std::vector<int>> pins_;  // per trigger that is fed: the inputs it drives itself
  std::vector<std::optional<Wave>> pin_waves_;  // per input that is driven so
  TimeNs next_dense_ns_ = kNever;
  TimeNs motion_break_ns_ = kNever;  // next corner of a broken-line engine speed
  std::optional<scenario::Track> motion_track_;
  TimeNs next_ns_ = kNever;
  TimeNs taken_ns_ = 0;
  StepGuard guard_;
  TimeNs stuck_ns_ = kNever;
};

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_PLANT_H_
