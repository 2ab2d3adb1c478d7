// SPDX-License-Identifier: Apache-2.0
#include "capture/sampling.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace drycrank::capture {
namespace {

constexpr double kLeastSamples = 6;  // a tooth
constexpr double kMeasured = 0.99;   // as well as samples themselves tell it
constexpr double kMayBeFewer = 4;    // measured: as of one and a third, which look alike
constexpr double kLeastWide = 2;     // a tooth or a space
constexpr std::size_t kFewestEdges = 8;
constexpr double kMuchFaster = 0.75;
constexpr double kMostlyFollowed = 0.9;

// From one to the next, as a mean over some, where they come fastest but for the one in twenty that
// may be noise.
double ShortPitchNs(const std::vector<double>& times_ns) {
  constexpr std::size_t kOver = 5;
  std::vector<double> pitches;
  for (std::size_t i = kOver; i < times_ns.size(); ++i) {
    pitches.push_back((times_ns[i] - times_ns[i - kOver]) / kOver);
  }
  if (pitches.empty()) return 0;
  const auto at = pitches.begin() + static_cast<std::ptrdiff_t>(pitches.size() / 20);
  std::nth_element(pitches.begin(), at, pitches.end());
  return *at;
}

std::vector<double> FallsOf(const CapturedChannel& channel) {
  std::vector<double> times_ns;
  for (const SeenChange& edge : EdgesOf(channel, false, false)) times_ns.push_back(edge.t_ns);
  return times_ns;
}

// Of teeth by their edges, or by each second swing where those come much faster: edges that are not
// seen make none. Tops and bottoms lie less exactly than edges.
double ToothNs(const CapturedChannel& channel) {
  std::vector<double> swings_ns;
  for (std::size_t i = 0; i < channel.swings_ns.size(); i += 2)
    swings_ns.push_back(channel.swings_ns[i]);
  const double by_edges =
      channel.changes.size() < kFewestEdges ? 0 : ShortPitchNs(FallsOf(channel));
  const double by_swings = swings_ns.size() < kFewestEdges ? 0 : ShortPitchNs(swings_ns);
  const bool unseen = by_swings > 0 && (by_edges <= 0 || by_swings < kMuchFaster * by_edges);
  return unseen ? by_swings : by_edges;
}

Diagnostic TooFew(const std::string& path, const std::string& channel, double samples,
                  double rate_hz) {
  const std::string fewer =
      samples < kMayBeFewer
          ? "; and more where teeth are less than two samples apart, which look slower than they "
            "are: six times as many as teeth pass in a second"
          : "";
  return {{path, 0, 0},
          fmt::format("{}: {:.1f} samples from tooth to tooth at {:.4g} kHz, and an edge lies "
                      "anywhere between two",
                      channel, samples, rate_hz / 1e3),
          fmt::format("at least {:.0f}: {:.3g} kHz or more{}", kLeastSamples,
                      std::ceil(rate_hz * kLeastSamples / samples / 100) / 10, fewer)};
}

}  // namespace

Sampling SamplingOf(const std::string& path, const ReadResult& capture) {
  Sampling out;
  for (const CapturedChannel& channel : capture.channels) {
    if (channel.about.role != Role::kTrigger || capture.step_ns <= 0) continue;
    const double samples = ToothNs(channel) / capture.step_ns;
    if (samples <= 0) continue;
    if (out.samples_per_tooth == 0 || samples < out.samples_per_tooth)
      out.samples_per_tooth = samples;
    if (samples >= kLeastSamples * kMeasured) continue;
    out.problem = TooFew(path, channel.about.name, samples, 1e9 / capture.step_ns);
    return out;
  }
  return out;
}

std::optional<Diagnostic> TooNarrow(const std::string& path, double step_ns,
                                    const CrankMatch& crank, double narrow_deg, std::size_t seen) {
  if (!crank.tried.fits() || step_ns <= 0) return std::nullopt;
  const bool is_whole = crank.track.stretches.size() == 1 &&
                        crank.track.placed > kMostlyFollowed * static_cast<double>(seen);
  if (is_whole && crank.track.missing + crank.track.extra == 0) return std::nullopt;
  const double samples = narrow_deg / (crank.track.most_rpm * 6e-9 * step_ns);
  if (samples >= kLeastWide) return std::nullopt;
  const double rate_hz = 1e9 / step_ns;
  return Diagnostic{
      {path, 0, 0},
      fmt::format("{}: {:.1f} samples in its narrowest tooth or space of {:.1f}° at {:.4g} kHz: it "
                  "may pass unseen",
                  crank.about.name, samples, narrow_deg, rate_hz / 1e3),
      fmt::format("at least {:.0f}: {:.3g} kHz or more", kLeastWide,
                  std::ceil(rate_hz * kLeastWide / samples / 10) / 100)};
}

}  // namespace drycrank::capture
