// SPDX-License-Identifier: Apache-2.0
//
// One channel's waves as the samples of a sound card or a WAV file. A point taken from the waves would
// move each edge by up to a sample (0.42 degrees of crank at 48 kHz and 20,000 r/min) and fold what
// the rate cannot carry back into what it can. Here each jump is what a band-limited channel makes of
// it, at its own time between the samples (step_kernel.h):
//
//   sample(n) = v(n) + sum over jumps at t, of their derivatives i:  d_i * r_i(n - t)
//
// A wave's begin is such a jump, from what was before it; so is its end, when nothing follows. Level,
// slope and half sine have all their derivatives known. What was before the first wave was as it.
//
//   pieces known up to  ─────────────────────────┤
//   samples settled     ───────────────┤ half a kernel earlier
//
// Once made it allocates nothing while each Add is at most a thousand samples past the last one taken and
// no more than kPieces begin between two that are taken.
#ifndef DRYCRANK_OUTPUT_SAMPLED_WAVE_H_
#define DRYCRANK_OUTPUT_SAMPLED_WAVE_H_

#include <array>
#include <cstdint>
#include <limits>
#include <span>
#include <vector>

#include "output/sample_clock.h"
#include "output/step_kernel.h"
#include "types/time.h"
#include "types/wave.h"

namespace drycrank::output {

class SampledWave {
 public:
  static constexpr std::size_t kPieces = 2048;

  explicit SampledWave(int rate_hz);

  // Times from here on are placed so; what was placed stays.
  void SetClock(const SampleClock& clock) { clock_ = clock; }
  // Forgets all waves; the next sample is this one.
  void Restart(std::int64_t sample);
  // Of one channel in the order of their begins; of two with the same begin the later one counts.
  void Add(const Wave& wave);
  // Nothing will be added that begins before t_ns. Returns how many samples are settled by that, from
  // sample 0 at time 0 on.
  std::int64_t Know(TimeNs t_ns);
  // The next sample, V; 0 while there is no wave. REQUIRES: it is settled.
  double Next();
  std::int64_t taken() const { return next_; }

 private:
  static constexpr double kForEver = std::numeric_limits<double>::infinity();
  using Derivatives = std::array<double, StepKernel::kOrders>;  // V, V a sample, ...
  // From `begin` to `end`, in samples; after it the last value holds.
  struct Piece {
    double begin = 0, end = kForEver;
    double begin_v = 0, rise_v = 0, peak_v = 0;

    bool ends() const { return end != kForEver; }
    double Value(double at) const;
    Derivatives At(double at) const;
  };

  bool IsEmpty() const { return first_ == pieces_.size(); }
  void Push(const Piece& piece);
  void Follow(const Piece& piece);
  void Spread(const Derivatives& jump, double at);
  std::span<double> AddedFrom(std::int64_t sample);

  SampleClock clock_;
  std::vector<Piece> pieces_;  // from first_ on: the one that is sampled, and those after it
  std::size_t first_ = 0;
  std::vector<double> added_;  // to samples from base_ on
  std::int64_t base_ = -StepKernel::kTaps, next_ = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_SAMPLED_WAVE_H_
