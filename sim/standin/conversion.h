// SPDX-License-Identifier: Apache-2.0
//
// Volts and pulses to values, by the controller's own tables.
//
// Analogue: the volts are scaled by the nominal over the measured reference (ratiometric channels),
// so that a sagging 5 V supply moves nothing; looked up on a broken line, held outside; smoothed by
// a first-order low-pass y += (x - y)(1 - exp(-dt / filter)). Volts out of [low_v, high_v] hold the
// value for fault_delay_ms, then it falls back and the fault stands until they are inside again.
//
// Frequency: the period from falling edge to falling edge, or the time the wave stays low.
#ifndef DRYCRANK_STANDIN_CONVERSION_H_
#define DRYCRANK_STANDIN_CONVERSION_H_

#include <cstdint>
#include <limits>
#include <span>
#include <string_view>

#include "profile/bench.h"
#include "types/time.h"

namespace drycrank::standin {

enum class ChannelFault { kNone = 0, kSignalLow = 1, kSignalHigh = 2, kNoSignal = 3 };

// Index into controller.inputs of the input at this terminal; -1: none.
int InputIndex(const profile::Controller& controller, std::string_view terminal);
// Of its trigger and frequency channels, ascending, each once.
std::vector<int> InputsThatCountEdges(const profile::Controller& controller);

// Nominal over measured voltage of the first reference output; 1 without one. A reference below a
// tenth of its nominal voltage scales no further: it is short to ground.
double ReferenceScale(const profile::Controller& controller, std::span<const double> reference_v);

class AnalogInput {
 public:
  explicit AnalogInput(const profile::AnalogChannel& channel)
      : channel_(&channel), value_(channel.fallback) {}

  // `reference_scale`: nominal over measured voltage of the reference output.
  void OnSample(TimeNs t_ns, double volts, double reference_scale);
  void NoSupply();  // falls back and forgets
  void SetCalibration(double gain, double offset) { gain_ = gain, offset_ = offset; }

  double value() const { return value_; }
  ChannelFault fault() const { return fault_; }
  std::int64_t faults() const { return faults_; }  // how often one began

 private:
  double LookUp(double volts);
  double ShareAfter(TimeNs since_ns);
  void Smooth(TimeNs t_ns, double value);

  const profile::AnalogChannel* channel_;
  double value_;
  ChannelFault fault_ = ChannelFault::kNone;
  ChannelFault suspected_ = ChannelFault::kNone;
  TimeNs suspected_ns_ = 0;
  TimeNs last_ns_ = -1;  // of the last good sample; -1: none to smooth from
  double gain_ = 1;
  double offset_ = 0;
  std::int64_t faults_ = 0;
  // Kept, for the next sample is mostly the same: a look-up, and the filter's share of a time.
  double known_v_ = std::numeric_limits<double>::quiet_NaN(), known_value_ = 0;
  TimeNs known_ns_ = -1;
  double known_share_ = 0;
};

class FrequencyInput {
 public:
  explicit FrequencyInput(const profile::FrequencyChannel& channel);

  void OnEdge(TimeNs t_ns, bool high);
  void Advance(TimeNs t_ns);
  void NoSupply(TimeNs t_ns);  // as before the first edge; waits anew from here

  double value() const { return value_; }
  ChannelFault fault() const { return fault_; }
  std::int64_t faults() const { return faults_; }

 private:
  void NoSignal();

  const profile::FrequencyChannel* channel_;
  TimeNs timeout_ns_;
  double value_;
  ChannelFault fault_ = ChannelFault::kNone;
  bool low_seen_ = false;  // fall_ns_ is the last falling edge
  TimeNs fall_ns_ = 0;
  TimeNs period_ns_ = 0;     // 0: none yet
  TimeNs last_edge_ns_ = 0;  // or when waiting for one began
  std::int64_t faults_ = 0;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_CONVERSION_H_
