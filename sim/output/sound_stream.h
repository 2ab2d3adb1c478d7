// SPDX-License-Identifier: Apache-2.0
//
// Waves of a run that goes on, as blocks of samples of a sound card that has a clock of its own.
//
//   what the run gives    Add, Know ──► WaveQueue ──► Fill, Underrun    what the card asks for
//
// What the run has at t is heard at t + latency_ns of the computer's clock (both in ns since the start of
// the run). Which frame that is follows from the card's clock as measured (card_clock.h). The line from
// time to frame is never bent by a step: each block takes it nearer to the measured one, by no more than
// kSlew of the rate beside the card's own, which grows by no more than kBendPerS. So the angle from crank to
// cam is as the run has it, and a turn of 50 ms differs by 0.01 degrees from one at an even rate.
//
// When the card ran dry, or the run has not said in time what comes, there is silence, 0 in all channels,
// for silence_ns: long enough that no controller takes what was before and after it for one movement. Then
// the waves begin again where the run is. Both are counted.
//
// Pure: no clock and no card here; nothing is allocated after the constructor.
#ifndef DRYCRANK_OUTPUT_SOUND_STREAM_H_
#define DRYCRANK_OUTPUT_SOUND_STREAM_H_

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "output/card_clock.h"
#include "output/card_level.h"
#include "output/sample_clock.h"
#include "output/sampled_wave.h"
#include "output/wave_queue.h"
#include "types/time.h"

namespace drycrank::output {

struct SoundFormat {
  int rate_hz = 48'000;
  std::vector<CardChannel> channels = {};
  TimeNs latency_ns = 100 * kNsPerMs;  // more than the run's steps and the card's buffer
  TimeNs silence_ns = 500 * kNsPerMs;  // after trouble
};

struct BlockRequest {
  TimeNs now_ns = 0;           // the computer's clock
  std::int64_t first_frame = 0;  // since the card was started
  double played_frames = 0;    // of those, what it had played at now_ns
};

struct SoundReport {
  std::optional<double> error_ppm;  // of the card's clock; fast is positive
  std::uint64_t underruns = 0;      // the card ran dry
  std::uint64_t late = 0;           // the run had not said in time what comes, or said it too late
  std::uint64_t lost_waves = 0;     // no room in the queue
  std::uint64_t clipped = 0;        // samples
  std::uint64_t silent_frames = 0;
  TimeNs worst_off_ns = 0;  // a frame from its due instant, since the waves began last, after kSettledNs
};

class SoundStream {
 public:
  static constexpr double kSlew = 3e-4;      // of the rate
  static constexpr double kBendPerS = 2.5e-3;  // of the rate, in a second
  static constexpr TimeNs kSettledNs = 10 * kNsPerS;
  // Farther off is not slewed away: the card has lost its place, as when it ran dry.
  static constexpr TimeNs kLostNs = 50 * kNsPerMs;

  explicit SoundStream(const SoundFormat& format);

  // In the order of their begins.
  void Add(int channel, const Wave& wave);
  // Nothing that begins before t_ns is added from now on.
  void Know(TimeNs t_ns) { known_ns_ = t_ns; }
  // From now on silence.
  void Silence() { is_silenced_ = true; }

  // Frame by frame, all channels.
  void Fill(const BlockRequest& request, std::span<float> samples);
  // The card ran dry; its frames begin at 0 again.
  void Underrun();
  SoundReport report() const;
  std::size_t channels() const { return levels_.size(); }

 private:
  enum class State { kSilent, kPlaying };

  struct Block {
    std::int64_t first = 0, end = 0;  // frames
    std::span<float> samples;
  };

  void FallSilent();
  // What is heard before this frame is left out; the last of it is where the waves begin again.
  void DropBefore(std::int64_t frame);
  bool MayBegin(const Block& block);
  void Begin(std::int64_t frame);
  // What frame plays which instant, from this one on.
  void Slew(const Block& block);
  bool IsKnown(const Block& block) const;
  // Whether nothing came too late.
  bool Play(const Block& block);
  void Take(int channel, std::int64_t settled, const Block& block);
  TimeNs DueNs(std::int64_t frame) const;  // of the run, what is to be heard at this frame

  SoundFormat format_;
  WaveQueue queue_;
  TimeNs known_ns_ = 0;
  bool is_silenced_ = false;
  CardClock card_;
  SampleClock map_;
  State state_ = State::kSilent;
  TimeNs silent_until_ns_ = 0, began_ns_ = 0;  // of the run; kNever: not yet reckoned
  std::vector<SampledWave> waves_;
  std::vector<CardLevel> levels_;
  std::vector<Wave> last_;
  bool has_begun_ = false;
  std::int64_t began_frame_ = 0;
  SoundReport report_;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_SOUND_STREAM_H_
