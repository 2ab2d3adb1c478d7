// SPDX-License-Identifier: Apache-2.0
#include "study/oscilloscope.h"

#include <fmt/format.h>

#include <algorithm>

#include "standin/conversion.h"

namespace drycrank::study {
namespace {

constexpr TimeNs kBeforeNs = 600 * kNsPerMs;  // shown before synchronisation: a turn or two
constexpr TimeNs kAfterNs = 250 * kNsPerMs;
constexpr TimeNs kWithoutNs = 1500 * kNsPerMs;  // never synchronised: shown this long after tooth 1
constexpr std::size_t kMostPieces = 20'000;     // per probe
constexpr int kPointsPerLobe = 8;

}  // namespace

Oscilloscope::Oscilloscope(const profile::Bench& bench, const standin::Controller* controller)
    : bench_(bench), controller_(controller) {
  if (!bench.controller) return;
  for (const profile::TriggerChannel& trigger : bench.controller->triggers) {
    probes_.push_back({standin::InputIndex(*bench.controller, trigger.terminal), {}});
  }
}

Oscilloscope::Oscilloscope(const profile::Bench& bench, ScopeWindow window)
    : Oscilloscope(bench, nullptr) {
  window_ = window;
}

void Oscilloscope::OnWave(int input, const Wave& piece) {
  if (Frozen()) return;
  for (Probe& probe : probes_) {
    if (probe.input != input) continue;
    probe.pieces.push_back(piece);
    if (probe.pieces.size() > kMostPieces) probe.pieces.pop_front();
  }
}

void Oscilloscope::OnEdge(const Edge& edge) {
  if (Frozen()) return;
  if (edge.channel == bench_.controller->decoder.primary) {
    first_edge_ns_ = std::min(first_edge_ns_, edge.t_ns);
  }
}

void Oscilloscope::OnSample(TimeNs t_ns) {
  if (Frozen()) return;
  if (!window_) {
    if (controller_ != nullptr && synchronised_ns_ == kNever &&
        controller_->sync_state() == standin::SyncState::kSynchronised) {
      synchronised_ns_ = t_ns;
    }
    if (synchronised_ns_ != kNever) {
      window_ = {std::max<TimeNs>(0, synchronised_ns_ - kBeforeNs), synchronised_ns_ + kAfterNs};
    } else if (first_edge_ns_ != kNever && t_ns > first_edge_ns_ + kWithoutNs) {
      window_ = {t_ns - kBeforeNs - kAfterNs, t_ns};
    }
  }
  if (window_ && t_ns > window_->end_ns) frozen_ = true;
  if (!frozen_) Trim(t_ns);
}

// Without a window yet, nothing older than one picture before now can be shown.
void Oscilloscope::Trim(TimeNs t_ns) {
  const TimeNs oldest_ns = window_ ? window_->begin_ns : t_ns - 2 * (kBeforeNs + kAfterNs);
  for (Probe& probe : probes_) {
    // The level that holds at the picture's left edge began before it: keep that piece.
    while (probe.pieces.size() > 1 && probe.pieces[1].begin_ns < oldest_ns) {
      probe.pieces.pop_front();
    }
  }
}

void Oscilloscope::OnFinish(TimeNs t_ns) {
  if (!window_) window_ = {std::max<TimeNs>(0, t_ns - kBeforeNs - kAfterNs), t_ns};
  window_->end_ns = std::min(window_->end_ns, t_ns);
  frozen_ = true;
}

std::vector<std::pair<TimeNs, double>> LinePoints(const std::deque<Wave>& pieces,
                                                  ScopeWindow window) {
  std::vector<std::pair<TimeNs, double>> points;
  const auto add = [&](const Wave& piece, TimeNs t_ns) {
    if (t_ns >= window.begin_ns && t_ns <= window.end_ns) points.emplace_back(t_ns, piece.At(t_ns));
  };
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const Wave& piece = pieces[i];
    if (piece.begin_ns > window.end_ns) break;  // begun while the last step was played
    const TimeNs next_ns = i + 1 < pieces.size() ? pieces[i + 1].begin_ns : window.end_ns;
    const TimeNs end_ns = std::min({piece.end_ns, next_ns, window.end_ns});
    add(piece, std::max(piece.begin_ns, std::min(window.begin_ns, end_ns)));
    const int steps = piece.peak_v == 0 ? 1 : kPointsPerLobe;
    for (int k = 1; k <= steps; ++k) {
      add(piece, piece.begin_ns + (end_ns - piece.begin_ns) * k / steps);
    }
  }
  return points;
}

std::vector<std::pair<double, std::string>> LevelsOf(const profile::TriggerChannel& trigger) {
  if (trigger.conditioning == profile::Conditioning::kZeroCrossing) {
    const std::string share =
        trigger.arm_share > 0
            ? fmt::format(" and {:g} % of the lobes before", 100 * trigger.arm_share)
            : "";
    return {{trigger.arm_v, fmt::format("arms above {:g} V{}", trigger.arm_v, share)}};
  }
  return {{trigger.high_v, fmt::format("high above {:g} V", trigger.high_v)},
          {trigger.low_v, fmt::format("low below {:g} V", trigger.low_v)}};
}

report::ScopeChannel Oscilloscope::VoltageOf(std::size_t trigger) const {
  const profile::TriggerChannel& config = bench_.controller->triggers[trigger];
  return {fmt::format("{} at {}", config.name, config.terminal), "V", false,
          LinePoints(probes_[trigger].pieces, *window_), LevelsOf(config)};
}

report::ScopePicture Oscilloscope::Picture(const std::string& title) const {
  report::ScopePicture picture;
  picture.title = title;
  if (!window_) return picture;
  picture.begin_ns = window_->begin_ns;
  picture.end_ns = window_->end_ns;
  for (std::size_t i = 0; i < probes_.size(); ++i) {
    picture.channels.push_back(VoltageOf(i));
  }
  if (synchronised_ns_ >= picture.begin_ns && synchronised_ns_ <= picture.end_ns) {
    picture.title += fmt::format(", which was at {:.3f} s", ToSeconds(synchronised_ns_));
  }
  return picture;
}

}  // namespace drycrank::study
