// SPDX-License-Identifier: Apache-2.0
#include "study/limit_sight.h"

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::study {
namespace {

using profile::Bench;
using profile::Protection;

constexpr int kSamples = 2;  // for a value to be seen and acted on
constexpr int kPeriods = 2;  // one in which it changes, and one that is whole
constexpr double kLeastHz = 0.1, kMsPerTurnRpm = 60e3;

// Of what is counted: that of the slowest speed or frequency at which it has to act or let go.
double PeriodMs(const Bench& bench, const Protection& p) {
  const profile::Controller& controller = *bench.controller;
  const int at = profile::IndexOf(controller.frequency, p.watches);
  if (at < 0) return kMsPerTurnRpm / std::max(1.0, std::min(p.limit, p.release));
  const profile::FrequencyChannel& channel = Nth(controller.frequency, at);
  if (channel.value_at_hz.empty()) return channel.timeout_ms;  // how often it comes is not written
  const double hz = std::min(InterpolateInverse(channel.value_at_hz, p.limit),
                             InterpolateInverse(channel.value_at_hz, p.release));
  return std::min(1000 / std::max(hz, kLeastHz), channel.timeout_ms);
}

}  // namespace

double BlindMs(const Bench& bench, const Protection& p) {
  const profile::Controller& controller = *bench.controller;
  const int analog = profile::IndexOf(controller.analog, p.watches);
  if (analog >= 0) return Nth(controller.analog, analog).fault_delay_ms;
  const int frequency = profile::IndexOf(controller.frequency, p.watches);
  return frequency >= 0 ? Nth(controller.frequency, frequency).timeout_ms : 0;
}

double Seeing::JumpMs(double from, double to, double level, double tolerance) const {
  if (filter_ms <= 0) return measuring_ms;
  const double left = std::max(std::abs(to - level) - tolerance, tolerance / 4);
  return measuring_ms + filter_ms * std::log(std::abs(to - from) / left);
}

Seeing SeeingOf(const Bench& bench, const Protection& protection) {
  const profile::Controller& controller = *bench.controller;
  const double samples_ms = kSamples * controller.sample_ms;
  const int analog = profile::IndexOf(controller.analog, protection.watches);
  if (analog >= 0) return {samples_ms, Nth(controller.analog, analog).filter_ms};
  return {samples_ms + kPeriods * PeriodMs(bench, protection), 0};
}

}  // namespace drycrank::study
