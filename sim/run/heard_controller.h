// SPDX-License-Identifier: Apache-2.0
//
// A stand-in controller by itself, in no run: it hears samples of a sound card, and says on the buses
// what a controller says. It knows what stands in the bench under `controller` and `buses`, and no more:
// no engine, no wheels as built; of the harness nothing, or, with `wires`, what is between it and the
// plugs at which outputs stand.
//
//   samples, -1..1 ──► volts at trigger inputs ──► standin::Controller ──► messages on the buses
//
//   v(input) = zero_v + full_scale_v x sample       straight from each sample to the next
//
// Its clock is the samples': at 48 kHz one is 20.8 us. What it is not told of an input is an open pin:
// its own pull-up's voltage, or 0 V.
#ifndef DRYCRANK_RUN_HEARD_CONTROLLER_H_
#define DRYCRANK_RUN_HEARD_CONTROLLER_H_

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "profile/bench.h"
#include "run/node.h"
#include "run/talkers.h"
#include "standin/controller.h"
#include "types/time.h"

namespace drycrank::run {

class HeardWires;

// Which channel of the samples an input of the controller hears.
struct Ear {
  int input = 0;    // index into controller.inputs
  int channel = 0;  // of the samples, from 0 on
  double full_scale_v = 1, zero_v = 0;
};

struct Hearing {
  double rate_hz = 0;
  int channels = 0;
  std::vector<Ear> ears;
  std::vector<double> input_v;  // per input of the controller; those with an ear do not count
  double supply_v = 0;
  HeardWires* wires = nullptr;  // in the place of ears, input_v and supply_v (heard_wires.h)
};

// Volts at an input that nothing is connected to.
double OpenPinV(const profile::InputCircuit& input);

class HeardController {
 public:
  // All must outlive it. `interfaces`: one per bus, nullptr where nothing is sent.
  // REQUIRES: bench.controller.
  HeardController(const profile::Bench& bench, const Hearing& hearing,
                  std::vector<bus::CanBus*> interfaces);

  // The next samples, frame by frame; what falls due up to the last of them is done and sent.
  void Hear(std::span<const float> samples);
  // Samples were lost: what comes next was heard at t_ns, or later. REQUIRES: now_ns() <= t_ns.
  void SkipTo(TimeNs t_ns);
  // What came on the buses since the last call: questions to its diagnostics.
  void TakeFrames();

  TimeNs now_ns() const { return TimeOf(frame_); }
  standin::SyncState sync_state() const { return controller_.sync_state(); }
  standin::SyncReason sync_reason() const { return controller_.sync_reason(); }
  std::uint64_t sent() const { return sent_; }
  std::uint64_t refused() const { return refused_; }  // by the interface

 private:
  TimeNs TimeOf(std::int64_t frame) const;
  void HearFrame(const float* samples, TimeNs t_ns);
  void HearEars(const float* samples, TimeNs from_ns, TimeNs t_ns);
  bool Carries(int bus) const;
  void DoDue(TimeNs t_ns);
  void Sample(TimeNs t_ns);
  void SendDue(TimeNs t_ns);
  TimeNs NextDueNs() const;
  void Send(const bus::TimedFrame& frame);

  const Hearing& hearing_;
  std::vector<bus::CanBus*> interfaces_;
  standin::Controller controller_;
  Node node_;
  Talkers talkers_;
  TimeNs sample_ns_, next_sample_ns_ = 0;
  TimeNs begin_ns_ = 0;     // of frame 0
  std::int64_t frame_ = 0;  // the next
  bool has_last_ = false;   // is there a sample before the next?
  TimeNs last_ns_ = 0;
  std::vector<double> input_v_, reference_v_;
  std::vector<TimeNs> late_ns_;
  std::uint64_t sent_ = 0, refused_ = 0;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_HEARD_CONTROLLER_H_
