// SPDX-License-Identifier: Apache-2.0
#include "capture/learn_wheel.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "types/limits.h"
#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::capture {
namespace {

constexpr double kOfWhole = 0.25;    // how far a distance may be from a whole multiple
constexpr double kAgree = 0.97;      // of the distances must repeat
constexpr std::size_t kAround = 9;   // distances of which the median is a pitch
constexpr double kSameShare = 0.12;  // of a distance, against the same one a turn later
constexpr int kLongestGap = 12;      // pitches

double MedianAround(const std::vector<double>& values, std::size_t at) {
  const std::size_t begin = at < kAround ? 0 : at - kAround,
                    end = std::min(values.size(), at + kAround + 1);
  std::vector<double> part(values.begin() + static_cast<std::ptrdiff_t>(begin),
                           values.begin() + static_cast<std::ptrdiff_t>(end));
  std::nth_element(part.begin(), part.begin() + static_cast<std::ptrdiff_t>(part.size() / 2),
                   part.end());
  return part[part.size() / 2];
}

std::vector<double> Distances(const std::vector<double>& t_ns) {
  std::vector<double> distances;
  for (std::size_t i = 1; i < t_ns.size(); ++i) distances.push_back(t_ns[i] - t_ns[i - 1]);
  return distances;
}

// In pitches; empty: they are no whole multiples.
std::vector<int> Multiples(const std::vector<double>& distances) {
  std::vector<int> multiples;
  std::size_t off = 0;
  for (std::size_t i = 0; i < distances.size(); ++i) {
    const double pitches = distances[i] / std::max(MedianAround(distances, i), 1.0);
    multiples.push_back(std::clamp(static_cast<int>(std::lround(pitches)), 1, kLongestGap));
    if (std::abs(pitches - multiples.back()) >
        kOfWhole * std::sqrt(static_cast<double>(multiples.back())))
      ++off;
  }
  if (static_cast<double>(off) > (1 - kAgree) * static_cast<double>(distances.size()))
    multiples.clear();
  return multiples;
}

// The shortest row that repeats at least twice; 0: none does.
template <class Same>
std::size_t PeriodOf(std::size_t size, Same same) {
  for (std::size_t period = 1; period <= std::min(size / 2, kMaxTeeth * 2); ++period) {
    std::size_t agree = 0;
    for (std::size_t i = period; i < size; ++i) agree += same(i, i - period) ? 1 : 0;
    if (static_cast<double>(agree) >= kAgree * static_cast<double>(size - period)) return period;
  }
  return 0;
}

std::optional<LearntWheel> EvenRow(const std::vector<double>& begins_ns) {
  const std::vector<int> multiples = Multiples(Distances(begins_ns));
  if (multiples.size() < 4) return std::nullopt;
  const std::size_t period = PeriodOf(
      multiples.size(), [&](std::size_t a, std::size_t b) { return multiples[a] == multiples[b]; });
  if (period < 2) return std::nullopt;
  // From the widest gap on; distance i is before tooth i + 1.
  const auto row_end = multiples.begin() + static_cast<std::ptrdiff_t>(period);
  const auto widest = AsSize(std::max_element(multiples.begin(), row_end) - multiples.begin());
  LearntWheel learnt;
  learnt.turns = static_cast<int>(multiples.size() / period);
  for (std::size_t i = 1; i <= period; ++i) {
    const int distance = multiples[(widest + i) % period];
    ++learnt.places;
    for (int k = 1; k < distance; ++k) learnt.missing.push_back(++learnt.places);
  }
  if (learnt.places > static_cast<int>(kMaxTeeth)) return std::nullopt;
  return learnt;
}

void PutTeeth(LearntWheel& learnt) {
  const double pitch_deg = 360.0 / learnt.places;
  for (int k = 0; k < learnt.places; ++k) {
    if (std::ranges::count(learnt.missing, k + 1) > 0) continue;
    learnt.wheel.teeth.push_back({k * pitch_deg, (k + learnt.tooth_fraction) * pitch_deg});
  }
}

// Of a tooth's pitch, the median over those whose next tooth is one pitch on.
double FractionOf(std::span<const SeenChange> edges, bool low_is_tooth) {
  std::vector<double> shares;
  for (std::size_t i = 0; i + 2 < edges.size(); ++i) {
    if (edges[i].high == low_is_tooth) continue;
    shares.push_back((edges[i + 1].t_ns - edges[i].t_ns) /
                     std::max(edges[i + 2].t_ns - edges[i].t_ns, 1.0));
  }
  if (shares.empty()) return 0.5;
  std::nth_element(shares.begin(), shares.begin() + static_cast<std::ptrdiff_t>(shares.size() / 2),
                   shares.end());
  return std::clamp(std::round(shares[shares.size() / 2] * 100) / 100, 0.05, 0.95);
}

// Shares of a turn of both edges, from a tooth's begin on.
std::optional<LearntWheel> OwnPlaces(std::span<const SeenChange> edges, bool low_is_tooth) {
  std::vector<double> t_ns;
  for (const SeenChange& edge : edges) t_ns.push_back(edge.t_ns);
  const std::vector<double> distances = Distances(t_ns);
  std::size_t period = PeriodOf(distances.size(), [&](std::size_t a, std::size_t b) {
    return (a - b) % 2 == 0 && std::abs(distances[a] - distances[b]) < kSameShare * distances[b];
  });
  if (period < 2 || period / 2 > kMaxTeeth) return std::nullopt;
  const std::size_t turns = distances.size() / period;
  std::vector<double> shares(period, 0);
  for (std::size_t turn = 0; turn < turns; ++turn) {
    const double turn_ns = t_ns[(turn + 1) * period] - t_ns[turn * period];
    for (std::size_t i = 0; i < period; ++i)
      shares[i] += distances[turn * period + i] / turn_ns / static_cast<double>(turns);
  }
  // The longest level that is no tooth ends where tooth 1 begins.
  std::size_t first = 0;
  double longest = -1;
  for (std::size_t i = 0; i < period; ++i) {
    const bool is_air = edges[i].high == low_is_tooth;
    if (is_air && shares[i] > longest) first = (i + 1) % period;
    if (is_air) longest = std::max(longest, shares[i]);
  }
  LearntWheel learnt;
  learnt.turns = static_cast<int>(turns);
  double at_deg = 0;
  for (std::size_t i = 0; i + 1 < period; i += 2) {
    const double tooth_deg = 360 * shares[(first + i) % period],
                 air_deg = 360 * shares[(first + i + 1) % period];
    learnt.wheel.teeth.push_back({at_deg, at_deg + tooth_deg});
    at_deg += tooth_deg + air_deg;
  }
  return learnt;
}

}  // namespace

std::optional<LearntWheel> LearnWheel(std::span<const SeenChange> edges, bool both_edges,
                                      bool low_is_tooth) {
  std::vector<double> begins_ns;
  for (const SeenChange& edge : edges) {
    if (!both_edges || edge.high != low_is_tooth) begins_ns.push_back(edge.t_ns);
  }
  std::optional<LearntWheel> learnt = EvenRow(begins_ns);
  if (learnt) {
    if (both_edges) learnt->tooth_fraction = FractionOf(edges, low_is_tooth);
    if (!both_edges)
      learnt->note = "a coil does not show how wide a tooth is: half a pitch is written";
    PutTeeth(*learnt);
    return learnt;
  }
  if (!both_edges) return std::nullopt;
  learnt = OwnPlaces(edges, low_is_tooth);
  if (learnt && learnt->wheel.teeth.size() == 1) {
    learnt->note = "one tooth and one gap repeat: it may be one tooth, or any number of even ones";
  }
  return learnt;
}

std::string PartFile(const LearntWheel& learnt, const std::string& name, const std::string& from) {
  std::string text = fmt::format(
      "# SPDX-License-Identifier: Apache-2.0\n# Learnt from {}, {} turns. Tooth 1 is the first "
      "behind the widest gap.\n",
      OneLine(from), learnt.turns);
  if (!learnt.note.empty()) text += fmt::format("# Not known: {}.\n", learnt.note);
  text += fmt::format("name: {}\n", name);
  if (learnt.places > 0) {
    text += fmt::format("teeth: {}\n", learnt.places);
    if (!learnt.missing.empty())
      text += fmt::format("missing: [{}]\n", fmt::join(learnt.missing, ", "));
    return text + fmt::format("tooth_fraction: {:g}\n", learnt.tooth_fraction);
  }
  std::vector<std::string> teeth;
  for (const Tooth& tooth : learnt.wheel.teeth)
    teeth.push_back(fmt::format("[{:.2f}, {:.2f}]", tooth.begin_deg, tooth.end_deg));
  return text + fmt::format("tooth_edges_deg: [{}]\n", fmt::join(teeth, ", "));
}

}  // namespace drycrank::capture
