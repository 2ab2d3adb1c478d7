// SPDX-License-Identifier: Apache-2.0
#include "study/capture.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "capture/match_outputs.h"
#include "capture/read_capture.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr int kFewestPulses = 2;
constexpr std::size_t kOneIn = 10, kOrderShown = 8;

struct Track {
  int output = -1;
  int changes = 0, falls = 0;
};

// Of what is counted for each kind by itself.
std::size_t PlaceOf(profile::OutputKind kind) {
  if (kind == profile::OutputKind::kTrailingIgnition) return 2;
  return kind == profile::OutputKind::kInjector ? 1 : 0;
}

bool IsPulsed(const profile::ControllerOutput& output) {
  return profile::IsIgnition(output.kind) || output.kind == profile::OutputKind::kInjector;
}

class Reader {
 public:
  Reader(const profile::Bench& bench, const std::string& path) : bench_(bench), path_(path) {}

  Capture Read() {
    const capture::ReadResult file = capture::ReadCaptureFile(path_, bench_, {});
    out_.problems = file.problems;
    const std::vector<std::string> known = Names();
    for (const std::string& column : file.unused) {
      out_.problems.push_back({{path_, 0, 0},
                               fmt::format("there is no output '{}'", column),
                               fmt::format("known: {}", fmt::join(known, ", "))});
    }
    if (out_.problems.empty()) TakeChannels(file);
    if (file.hole_count > 0) SayHoles(file);
    return std::move(out_);
  }

 private:
  const std::vector<profile::ControllerOutput>& outputs() const {
    return bench_.controller->outputs;
  }
  std::vector<std::string> Names() const {
    std::vector<std::string> names;
    for (const profile::ControllerOutput& output : outputs()) names.push_back(output.name);
    return names;
  }
  const profile::ControllerOutput& OutputOf(const Track& track) const {
    return Nth(outputs(), track.output);
  }

  void SayHoles(const capture::ReadResult& file) {
    for (Seen& seen : out_.seen)
      seen.detail +=
          fmt::format("; rows of the capture are missing at {} places, first before line {}",
                      file.hole_count, file.holes.front().line);
  }

  // Falls of all outputs in the order of their times.
  void TakeChannels(const capture::ReadResult& file) {
    std::vector<std::pair<double, const profile::ControllerOutput*>> falls;
    for (const capture::CapturedChannel& channel : file.channels) {
      Track track{.output = channel.about.output};
      if (track.output < 0) continue;
      for (const capture::SeenChange& change : channel.changes) {
        ++track.changes;
        if (change.high) continue;
        ++track.falls;
        falls.emplace_back(change.t_ns, &OutputOf(track));
      }
      tracks_.push_back(track);
    }
    std::ranges::stable_sort(falls, {}, [](const auto& fall) { return fall.first; });
    for (const auto& [t_ns, output] : falls) {
      if (!IsPulsed(*output) || output->cylinder == 0) continue;
      order_[PlaceOf(output->kind)].push_back(output->cylinder);
      falls_ns_[PlaceOf(output->kind)][output->cylinder].push_back(t_ns);
    }
    if (!tracks_.empty()) return Judge();
    out_.problems.push_back({{path_, 0, 0},
                             "no output of the controller is in it",
                             fmt::format("name columns {}", fmt::join(Names(), ", "))});
  }

  // Of the cylinders seen, each falls where the firing order has it, but for one in ten: an engine
  // that stops and starts anew begins anywhere. Empty, or the order seen.
  std::string OutOfOrder(std::size_t kind) const {
    const std::vector<int>& seen = order_[kind];
    const std::set<int> cylinders(seen.begin(), seen.end());
    std::vector<int> due;
    for (const int cylinder : bench_.engine.firing_order) {
      if (cylinders.contains(cylinder)) due.push_back(cylinder);
    }
    if (due.size() < 2) return "";
    std::size_t wrong = 0, first = 0;
    for (std::size_t i = 1; i < seen.size(); ++i) {
      const auto at = std::find(due.begin(), due.end(), seen[i - 1]);
      if (at == due.end()) return "";  // a cylinder that the engine does not have
      const auto next = at + 1 == due.end() ? due.begin() : at + 1;
      if (*next != seen[i] && wrong++ == 0) first = i - 1;
    }
    if (wrong * kOneIn <= seen.size() - 1) return "";
    const std::vector<int> shown(
        seen.begin() + static_cast<std::ptrdiff_t>(first),
        seen.begin() + static_cast<std::ptrdiff_t>(std::min(seen.size(), first + kOrderShown)));
    return fmt::format("the order is {}, the firing order {}", fmt::join(shown, " "),
                       fmt::join(due, " "));
  }

  // Of a cylinder's two coils, how far the trailing one is behind: the mean share of the time
  // between two sparks of the leading one.
  std::optional<double> BehindDeg(int cylinder) const {
    const auto leading = falls_ns_[0].find(cylinder), trailing = falls_ns_[2].find(cylinder);
    if (leading == falls_ns_[0].end() || trailing == falls_ns_[2].end()) return std::nullopt;
    const std::vector<double>& at = leading->second;
    std::vector<double> shares;
    for (std::size_t i = 1; i < at.size(); ++i) {
      const auto next = std::ranges::lower_bound(trailing->second, at[i - 1]);
      if (next == trailing->second.end() || *next >= at[i]) continue;
      shares.push_back((*next - at[i - 1]) / (at[i] - at[i - 1]));
    }
    if (shares.empty()) return std::nullopt;
    std::ranges::nth_element(shares,
                             shares.begin() + static_cast<std::ptrdiff_t>(shares.size() / 2));
    return WrapSignedDeg(shares[shares.size() / 2] * TurnDeg(), TurnDeg());
  }
  double TurnDeg() const {
    const bool paired = bench_.controller->decoder.firing == profile::Firing::kPaired;
    return paired ? 360 : bench_.engine.cycle_deg();
  }

  // A coil whose lead is exchanged with that of the cylinder's other plug; empty, or how it fires.
  std::string Exchanged(const profile::ControllerOutput& output) const {
    const double due_deg = capture::TrailingDegOf(bench_);
    const auto behind_deg = BehindDeg(output.cylinder);
    if (!profile::IsIgnition(output.kind) || due_deg == 0 || !behind_deg) return "";
    if (std::abs(*behind_deg - due_deg) <= std::abs(*behind_deg + due_deg)) return "";
    return fmt::format(
        "of cylinder {} the trailing plug fires {:.1f}° {} the leading one, should be "
        "{:.1f}° behind: their leads are exchanged",
        output.cylinder, std::abs(*behind_deg), *behind_deg < 0 ? "before" : "behind", due_deg);
  }

  void Judge() {
    const std::array<std::string, 3> wrong = {OutOfOrder(0), OutOfOrder(1), OutOfOrder(2)};
    for (const Track& track : tracks_) {
      const profile::ControllerOutput& output = OutputOf(track);
      Seen seen;
      seen.output = track.output;
      if (!IsPulsed(output)) {
        seen.acts = track.changes > 0;
        seen.detail = fmt::format("{} changes of level", track.changes);
      } else {
        const std::string order =
            output.cylinder == 0 ? "" : wrong[PlaceOf(output.kind)] + Exchanged(output);
        seen.acts = track.falls >= kFewestPulses && order.empty();
        seen.detail = fmt::format("{} pulses", track.falls);
        if (track.falls >= kFewestPulses && !order.empty()) seen.detail += "; " + order;
      }
      out_.seen.push_back(std::move(seen));
    }
  }

  const profile::Bench& bench_;
  const std::string& path_;
  Capture out_;
  std::vector<Track> tracks_;
  std::array<std::vector<int>, 3>
      order_;  // cylinders as they fell: coils, injectors, trailing coils
  std::array<std::map<int, std::vector<double>>, 3> falls_ns_;  // of each cylinder
};

}  // namespace

Capture ReadCapture(const profile::Bench& bench, const std::string& path) {
  return Reader(bench, path).Read();
}

}  // namespace drycrank::study
