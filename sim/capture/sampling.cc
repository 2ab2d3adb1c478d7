// SPDX-License-Identifier: Apache-2.0
#include "capture/sampling.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "capture/match_crank.h"

namespace drycrank::capture {
namespace {

constexpr double kLeastSamples = 6;  // a tooth
constexpr std::size_t kFewestEdges = 8;

// From one tooth to the next, as a mean over some, where they come fastest but for the one in twenty that may
// be noise.
double ShortPitchNs(const CapturedChannel& channel) {
  constexpr std::size_t kOver = 5;
  const std::vector<SeenChange> edges = EdgesOf(channel, false, false);
  std::vector<double> pitches;
  for (std::size_t i = kOver; i < edges.size(); ++i) {
    pitches.push_back((edges[i].t_ns - edges[i - kOver].t_ns) / kOver);
  }
  if (pitches.empty()) return 0;
  const auto at = pitches.begin() + static_cast<std::ptrdiff_t>(pitches.size() / 20);
  std::nth_element(pitches.begin(), at, pitches.end());
  return *at;
}

Diagnostic TooFew(const std::string& path, const std::string& channel, double samples,
                  double rate_hz) {
  return {{path, 0, 0},
          fmt::format("{}: {:.1f} samples from tooth to tooth at {:.4g} kHz, and an edge lies "
                      "anywhere between two",
                      channel, samples, rate_hz / 1e3),
          fmt::format("at least {:.0f}: {:.3g} kHz or more", kLeastSamples,
                      std::ceil(rate_hz * kLeastSamples / samples / 100) / 10)};
}

}  // namespace

Sampling SamplingOf(const std::string& path, const ReadResult& capture) {
  Sampling out;
  for (const CapturedChannel& channel : capture.channels) {
    if (channel.about.role != Role::kTrigger || capture.step_ns <= 0) continue;
    const double samples = ShortPitchNs(channel) / capture.step_ns;
    if (channel.changes.size() < kFewestEdges || samples <= 0) continue;
    if (out.samples_per_tooth == 0 || samples < out.samples_per_tooth)
      out.samples_per_tooth = samples;
    if (samples >= kLeastSamples * 0.97) continue;
    out.problem = TooFew(path, channel.about.name, samples, 1e9 / capture.step_ns);
    return out;
  }
  return out;
}

}  // namespace drycrank::capture
