// SPDX-License-Identifier: Apache-2.0
#include "capture/capture_levels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "capture/level_stats.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::capture {
namespace {

constexpr double kChunkNs = 1e8;
constexpr double kHysteresis = 0.2;  // of the way between two levels, to either side of the middle
constexpr double kLeastWave = 0.02;  // of the highest waves
constexpr double kArm = 0.3, kLeastArm = 0.05;
constexpr double kOfLowest = 0.45;   // of the lowest lobe of a wheel, where that is less
constexpr double kIntoMetal = 3;  // times as far as into the air a lobe reaches over a wide tooth
constexpr double kAboveNoise =
    4.5;  // sigmas: one sample in 150,000 of a normal distribution goes further
constexpr double kMostNoise =
    0.45;  // of the highest waves: a clipped wave of few samples looks like noise
constexpr double kOneSided = 0.05;  // of the span: how far below zero a logic level may lie

bool IsCoil(const profile::Bench& bench, const MappedChannel& channel) {
  if (channel.role != Role::kTrigger) return false;
  return std::holds_alternative<profile::VariableReluctancePickup>(
      Nth(bench.triggers, channel.trigger).pickup);
}

// Not only among the first lines.
bool IsZeroOrOne(const LevelStats& stats) {
  return stats.any() && stats.Share(-1.02, 1.02) >= 1 &&
         stats.Share(-0.98, -0.02) + stats.Share(0.02, 0.98) <= 0;
}

struct Rule {
  EdgeRule rule;
  std::string how;
  bool is_logic = false;
  bool is_comparator = false;  // 0 and 5 V behind a coil's input circuit: its edges, not its wave
};

double HeightOf(const LevelStats& stats, double rest) {
  return std::max(stats.Quantile(0.98) - rest, rest - stats.Quantile(0.02));
}

// A tooth edge makes one lobe, the lower the wider it is (hw-notes/signal-laws.md): of the wheel's
// lowest to its highest.
double LowestLobe(const profile::Wheel& wheel) {
  double least_deg = 360, most_deg = 0;
  const std::size_t count = wheel.teeth.size();
  for (std::size_t i = 0; i < count; ++i) {
    const auto& tooth = wheel.teeth[i];
    const double wide_deg = tooth.end_deg - tooth.begin_deg;
    const double next_deg = wheel.teeth[(i + 1) % count].begin_deg + (i + 1 == count ? 360 : 0);
    const double before_deg =
        tooth.begin_deg - wheel.teeth[(i + count - 1) % count].end_deg + (i == 0 ? 360 : 0);
    for (const double gap_deg : {before_deg, next_deg - tooth.end_deg}) {
      const double air_deg = std::min(gap_deg, wide_deg) / 2;
      const double lobe_deg = air_deg + std::min(wide_deg / 2, kIntoMetal * air_deg);
      least_deg = std::min(least_deg, lobe_deg);
      most_deg = std::max(most_deg, lobe_deg);
    }
  }
  return most_deg > 0 ? least_deg / most_deg : 1;
}

double ArmOf(const profile::Bench& bench, const MappedChannel& channel) {
  if (channel.trigger < 0) return kArm;
  const double lowest = LowestLobe(Nth(bench.triggers, channel.trigger).wheel);
  return std::clamp(kOfLowest * lowest, kLeastArm, kArm);
}

Rule WaveBy(const LevelStats& stats, double arm) {
  const double rest = stats.Quantile(0.5);
  const double height = std::max(HeightOf(stats, rest), stats.Farthest(rest));
  const double noise_v = std::min(kAboveNoise * stats.Noise(), kMostNoise * height);
  return {WaveRule{rest, kLeastWave * height, arm, noise_v},
          fmt::format("crossings of {:.3g}", rest)};
}

Rule LevelBy(double middle, double span) {
  return {LevelRule{middle - kHysteresis * span, middle + kHysteresis * span},
          fmt::format("threshold {:.3g}", middle)};
}

Rule Choose(const LevelStats& stats, const TraceInfo& info, const profile::Bench& bench,
            const MappedChannel& channel) {
  const bool digital = info.channels[channel.index].digital && IsZeroOrOne(stats);
  if (digital && info.by_change && !channel.inverted) return {ExactRule{}, "0 and 1", true};
  if (!stats.any()) return {LevelRule{}, "no values"};
  double low = 0, high = 0;
  const bool two_levels = stats.HasTwoLevels(&low, &high);
  if (digital)
    return {LevelRule{(channel.inverted ? -1 : 0) + 0.25, (channel.inverted ? -1 : 0) + 0.75},
            "0 and 1", true};
  if (channel.threshold)
    return LevelBy((channel.inverted ? -1 : 1) * *channel.threshold, high - low);
  const bool one_sided = two_levels && low > -kOneSided * (high - low);
  if (channel.zero_crossing.value_or(IsCoil(bench, channel) && !one_sided))
    return WaveBy(stats, ArmOf(bench, channel));
  if (two_levels) {
    Rule rule = LevelBy((low + high) / 2, high - low);
    rule.is_comparator = IsCoil(bench, channel);
    return rule;
  }
  const LevelStats::Step step = stats.TypicalStep();
  if (step.height <= 0) return {LevelRule{0, 1}, "never changes"};
  return {StepRule{step.samples, step.height}, fmt::format("steps of {:.3g}", step.height)};
}

class FirstLook {
 public:
  FirstLook(const std::string& path, const profile::Bench& bench, ChannelMap map)
      : path_(path), bench_(bench), map_(std::move(map)) {}

  CaptureLevels Read() {
    const OpenedTrace opened = OpenTrace(path_, map_.hints);
    if (!opened.trace) return Refused(*opened.problem);
    out_.problems = Bind(path_, opened.trace->info(), bench_, map_, out_.unused);
    if (!out_.problems.empty()) return std::move(out_);
    out_.hints = map_.hints;
    Look(*opened.trace);
    if (opened.trace->problem()) return Refused(*opened.trace->problem());
    out_.info = opened.trace->info();
    out_.holes = opened.trace->holes();
    out_.hole_count = opened.trace->hole_count();
    out_.repeats = opened.trace->repeats();
    out_.step_ns = out_.info.by_change ? 0 : MedianStep();
    for (std::size_t c = 0; c < stats_.size(); ++c) AddChannel(map_.channels[c], stats_[c]);
    return std::move(out_);
  }

 private:
  CaptureLevels Refused(const Diagnostic& problem) {
    out_.problems.push_back(problem);
    return std::move(out_);
  }

  void Look(Trace& trace) {
    const std::size_t width = trace.info().channels.size();
    stats_.resize(map_.channels.size());
    TraceBlock block;
    double chunk_ns = 0;
    while (trace.Next(block)) {
      if (out_.rows == 0) chunk_ns = block.t_ns.front();
      for (std::size_t row = 0; row < block.t_ns.size(); ++row) {
        if (block.t_ns[row] - chunk_ns >= kChunkNs) {
          chunk_ns = block.t_ns[row];
          for (LevelStats& stats : stats_) stats.EndChunk();
        }
        for (std::size_t c = 0; c < stats_.size(); ++c) {
          const double value =
              InUnits(map_.channels[c], block.values[row * width + map_.channels[c].index]);
          if (std::isfinite(value) && std::abs(value) < 1e12) stats_[c].Add(value);
        }
      }
      NoteTimes(block);
    }
    for (LevelStats& stats : stats_) stats.EndChunk();
  }

  void NoteTimes(const TraceBlock& block) {
    if (out_.rows == 0) out_.from_ns = block.t_ns.front();
    out_.to_ns = block.t_ns.back();
    out_.rows += block.t_ns.size();
    if (block.t_ns.size() > 1 && steps_.size() < 10'000) {
      steps_.push_back((block.t_ns.back() - block.t_ns.front()) /
                       static_cast<double>(block.t_ns.size() - 1));
    }
  }

  double MedianStep() {
    if (steps_.empty()) return 0;
    const auto middle = steps_.begin() + static_cast<std::ptrdiff_t>(steps_.size() / 2);
    std::nth_element(steps_.begin(), middle, steps_.end());
    return *middle;
  }

  void AddChannel(const MappedChannel& about, const LevelStats& stats) {
    Rule rule = Choose(stats, out_.info, bench_, about);
    ChannelLevels channel{about, rule.rule, std::move(rule.how),
                          out_.info.channels[about.index].digital || rule.is_comparator,
                          rule.is_logic};
    if (stats.any()) {
      channel.rest = stats.Quantile(0.5);
      channel.height = HeightOf(stats, channel.rest);
      channel.span = stats.Quantile(0.996) - stats.Quantile(0.004);
    }
    out_.channels.push_back(std::move(channel));
  }

  const std::string& path_;
  const profile::Bench& bench_;
  ChannelMap map_;
  CaptureLevels out_;
  std::vector<LevelStats> stats_;
  std::vector<double> steps_;
};

}  // namespace

double InUnits(const MappedChannel& channel, float value) {
  const double scaled = channel.scale * static_cast<double>(value) + channel.shift;
  return channel.inverted ? -scaled : scaled;
}

CaptureLevels ReadLevels(const std::string& path, const profile::Bench& bench, ChannelMap map) {
  return FirstLook(path, bench, std::move(map)).Read();
}

}  // namespace drycrank::capture
