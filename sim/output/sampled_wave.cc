// SPDX-License-Identifier: Apache-2.0
#include "output/sampled_wave.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

#include "types/nth.h"

namespace drycrank::output {

namespace {

constexpr std::size_t kRoom = 1024;  // samples
constexpr double kNoJumpV = 1e-9;

}  // namespace

SampledWave::SampledWave(int rate_hz)
    : clock_{.rate_hz = static_cast<double>(rate_hz)}, added_(kRoom, 0.0) {
  pieces_.reserve(kPieces);
}

void SampledWave::Restart(std::int64_t sample) {
  pieces_.clear();
  first_ = 0;
  next_ = sample;
  base_ = sample - StepKernel::kTaps;
  std::fill(added_.begin(), added_.end(), 0.0);
}

void SampledWave::Push(const Piece& piece) {
  if (pieces_.size() == pieces_.capacity() && first_ > 0) {
    pieces_.erase(pieces_.begin(), pieces_.begin() + static_cast<std::ptrdiff_t>(first_));
    first_ = 0;
  }
  pieces_.push_back(piece);
}

double SampledWave::Piece::Value(double at) const {
  if (!ends()) return begin_v;
  const double x = std::clamp((at - begin) / (end - begin), 0.0, 1.0);
  return begin_v + rise_v * x + (peak_v == 0 ? 0 : peak_v * std::sin(std::numbers::pi * x));
}

SampledWave::Derivatives SampledWave::Piece::At(double at) const {
  if (!ends() || at > end) return {begin_v + (ends() ? rise_v : 0)};
  const double length = end - begin;
  const double x = std::max(0.0, (at - begin) / length);
  if (peak_v == 0) return {begin_v + rise_v * x, rise_v / length};
  const double turn = std::numbers::pi / length;
  const double sine = peak_v * std::sin(std::numbers::pi * x);
  const double cosine = peak_v * turn * std::cos(std::numbers::pi * x);
  return {begin_v + rise_v * x + sine, rise_v / length + cosine, -sine * turn * turn,
          -cosine * turn * turn};
}

void SampledWave::Add(const Wave& wave) {
  Piece piece{.begin = clock_.Place(wave.begin_ns), .begin_v = wave.begin_v};
  if (wave.end_ns != kNever && wave.end_ns > wave.begin_ns) {
    piece.end = clock_.Place(wave.end_ns);
    piece.rise_v = wave.end_v - wave.begin_v;
    piece.peak_v = wave.peak_v;
  }
  if (IsEmpty()) {
    Push(piece);
    return;
  }
  Know(wave.begin_ns);
  Follow(piece);
}

std::int64_t SampledWave::Know(TimeNs t_ns) {
  const double known = clock_.Place(t_ns);
  if (!IsEmpty() && pieces_.back().end < known) {
    const Piece& over = pieces_.back();
    Follow({.begin = over.end, .begin_v = over.begin_v + over.rise_v});
  }
  return std::max<std::int64_t>(0, std::llround(std::floor(known)) - StepKernel::kHalf);
}

void SampledWave::Follow(const Piece& piece) {
  Derivatives jump = piece.At(piece.begin);
  const Derivatives before = pieces_.back().At(piece.begin);
  for (std::size_t i = 0; i < jump.size(); ++i) jump[i] -= before[i];
  Spread(jump, piece.begin);
  Push(piece);
}

void SampledWave::Spread(const Derivatives& jump, double at) {
  if (at + StepKernel::kHalf <= static_cast<double>(next_)) return;  // all of it was taken
  const double first = std::ceil(at - StepKernel::kHalf);
  const std::span<double> added = AddedFrom(std::llround(first));
  for (int order = 0; order < StepKernel::kOrders; ++order) {
    if (std::abs(Nth(jump, order)) < kNoJumpV) continue;
    StepKernel::Get().AddTo(added, order, Nth(jump, order), first - (at - StepKernel::kHalf));
  }
}

// Samples that were taken have kept their place for as long as one jump reaches.
std::span<double> SampledWave::AddedFrom(std::int64_t sample) {
  const std::int64_t kept = next_ - StepKernel::kTaps;
  if (sample + StepKernel::kTaps > base_ + std::ssize(added_)) {
    const auto over = std::min<std::int64_t>(kept - base_, std::ssize(added_));
    std::shift_left(added_.begin(), added_.end(), over);
    std::fill(added_.end() - over, added_.end(), 0.0);
    base_ = kept;
  }
  const auto needed = sample - base_ + StepKernel::kTaps;
  if (needed > std::ssize(added_)) added_.resize(AsSize(2 * needed), 0.0);
  return std::span(added_).subspan(AsSize(sample - base_), StepKernel::kTaps);
}

double SampledWave::Next() {
  const std::int64_t sample = next_++;
  const double at = static_cast<double>(sample);
  while (first_ + 1 < pieces_.size() && pieces_[first_ + 1].begin <= at) ++first_;
  const double volts = IsEmpty() ? 0 : pieces_[first_].Value(at);
  return sample - base_ < std::ssize(added_) ? volts + Nth(added_, sample - base_) : volts;
}

}  // namespace drycrank::output
