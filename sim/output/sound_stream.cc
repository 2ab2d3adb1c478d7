// SPDX-License-Identifier: Apache-2.0
#include "output/sound_stream.h"

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::output {
namespace {

constexpr double kPullS = 1;  // in which what is off would be gone, were it not for kSlew
// What begins so soon after a block's end reaches into it.
constexpr int kAhead = StepKernel::kHalf + 1;

}  // namespace

SoundStream::SoundStream(const SoundFormat& format)
    : format_(format), card_(format.rate_hz), last_(format.channels.size()) {
  for (const CardChannel& channel : format.channels) {
    Wave& wave = Nth(last_, std::ssize(levels_));
    wave.begin_v = wave.end_v = channel.zero_v;
    levels_.emplace_back(channel, format.rate_hz);
    waves_.emplace_back(format.rate_hz);
  }
  StepKernel::Get();  // made now
}

// What is oldest makes room; as that is not played, all is silent.
void SoundStream::Add(int channel, const Wave& wave) {
  if (queue_.Put(channel, wave)) return;
  ++report_.lost_waves;
  FallSilent();
  Nth(last_, queue_.Front()->channel) = queue_.Front()->wave;
  queue_.Pop();
  queue_.Put(channel, wave);
}

void SoundStream::Fill(const BlockRequest& request, std::span<float> samples) {
  const Block block{
      .first = request.first_frame,
      .end = request.first_frame + std::ssize(samples) / std::ssize(levels_),
      .samples = samples,
  };
  card_.Report(request.now_ns, request.played_frames);
  std::fill(samples.begin(), samples.end(), 0.0F);
  if (is_silenced_) state_ = State::kSilent;
  if (state_ == State::kSilent && MayBegin(block)) Begin(block.first);
  if (state_ == State::kPlaying) Slew(block);
  if (state_ == State::kPlaying) {
    if (IsKnown(block) && Play(block)) return;
    ++report_.late;
    FallSilent();
    std::fill(samples.begin(), samples.end(), 0.0F);
  }
  DropBefore(block.end);
  if (has_begun_) report_.silent_frames += static_cast<std::uint64_t>(block.end - block.first);
}

void SoundStream::Underrun() {
  ++report_.underruns;
  card_.Restart();
  FallSilent();
}

SoundReport SoundStream::report() const {
  SoundReport report = report_;
  report.error_ppm = card_.error_ppm();
  for (const CardLevel& level : levels_) report.clipped += level.clipped();
  return report;
}

TimeNs SoundStream::DueNs(std::int64_t frame) const {
  return card_.PlayedAt(static_cast<double>(frame)) - format_.latency_ns;
}

void SoundStream::FallSilent() {
  state_ = State::kSilent;
  silent_until_ns_ = kNever;
}

void SoundStream::DropBefore(std::int64_t frame) {
  const TimeNs due_ns = DueNs(frame);
  for (const WaveQueue::Entry* entry = queue_.Front();
       entry != nullptr && entry->wave.begin_ns < due_ns; entry = queue_.Front()) {
    Nth(last_, entry->channel) = entry->wave;
    queue_.Pop();
  }
}

bool SoundStream::MayBegin(const Block& block) {
  const TimeNs due_ns = DueNs(block.first);
  if (silent_until_ns_ == kNever) silent_until_ns_ = due_ns + format_.silence_ns;
  return !is_silenced_ && due_ns >= silent_until_ns_ && known_ns_ >= DueNs(block.end + 3 * kAhead);
}

void SoundStream::Begin(std::int64_t frame) {
  DropBefore(frame);
  map_ = {.t_ns = DueNs(frame), .place = static_cast<double>(frame), .rate_hz = card_.rate_hz()};
  for (int i = 0; i < std::ssize(waves_); ++i) {
    Nth(waves_, i).Restart(frame);
    Nth(waves_, i).SetClock(map_);
    Nth(waves_, i).Add(Nth(last_, i));
    Nth(levels_, i).Rest();
  }
  state_ = State::kPlaying;
  has_begun_ = true;
  began_ns_ = map_.t_ns;
  began_frame_ = frame;
  report_.worst_off_ns = 0;
}

void SoundStream::Slew(const Block& block) {
  const std::int64_t frame = block.first;
  const TimeNs at_ns = map_.TimeOf(static_cast<double>(frame)), off_ns = DueNs(frame) - at_ns;
  if (std::abs(off_ns) > kLostNs) {
    ++report_.underruns;
    return FallSilent();
  }
  if (at_ns - began_ns_ >= kSettledNs) {
    report_.worst_off_ns = std::max(report_.worst_off_ns, std::abs(off_ns));
  }
  // Behind what is due: fewer frames for the same time of the run.
  const double share = std::clamp(ToSeconds(off_ns) / kPullS, -kSlew, kSlew);
  const double bend_hz = kBendPerS * static_cast<double>(block.end - block.first);
  const double rate_hz = std::clamp(card_.rate_hz() * (1 - share), map_.rate_hz - bend_hz,
                                    map_.rate_hz + bend_hz);
  map_ = {.t_ns = at_ns, .place = map_.Place(at_ns), .rate_hz = rate_hz};
  for (SampledWave& wave : waves_) wave.SetClock(map_);
}

bool SoundStream::IsKnown(const Block& block) const {
  return known_ns_ >= map_.TimeOf(static_cast<double>(block.end + 2 * kAhead));
}

bool SoundStream::Play(const Block& block) {
  const TimeNs reach_ns = map_.TimeOf(static_cast<double>(block.end + kAhead));
  for (const WaveQueue::Entry* entry = queue_.Front();
       entry != nullptr && entry->wave.begin_ns <= reach_ns; entry = queue_.Front()) {
    SampledWave& channel = Nth(waves_, entry->channel);
    const double settled = static_cast<double>(channel.taken() + StepKernel::kHalf);
    const bool is_first = channel.taken() == began_frame_;
    if (!is_first && map_.Place(entry->wave.begin_ns) < settled) return false;
    Take(entry->channel, channel.Know(entry->wave.begin_ns), block);
    channel.Add(entry->wave);
    Nth(last_, entry->channel) = entry->wave;
    queue_.Pop();
  }
  for (int i = 0; i < std::ssize(waves_); ++i) Take(i, Nth(waves_, i).Know(reach_ns), block);
  return true;
}

void SoundStream::Take(int channel, std::int64_t settled, const Block& block) {
  SampledWave& wave = Nth(waves_, channel);
  for (const std::int64_t end = std::min(settled, block.end); wave.taken() < end;) {
    const std::int64_t at = (wave.taken() - block.first) * std::ssize(levels_) + channel;
    Nth(block.samples, at) = static_cast<float>(Nth(levels_, channel).Next(wave.Next()));
  }
}

}  // namespace drycrank::output
