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

#include "capture/match.h"
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
    if (out_.problems.empty() && HasCrank(file)) FindCrossed();
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

  bool HasCrank(const capture::ReadResult& file) const {
    const auto& triggers = bench_.controller->triggers;
    const int primary = bench_.controller->decoder.primary;
    if (primary < 0 || primary >= std::ssize(triggers)) return false;
    return std::ranges::any_of(file.channels, [&](const capture::CapturedChannel& channel) {
      return channel.about.trigger >= 0;
    });
  }

  // Against the crank and the cams of the same capture: two that have each other's place. A wheel
  // that is half a turn off does the same to all of them at once.
  void FindCrossed() {
    const capture::MatchResult match = capture::Match(bench_, path_, {}, {}, {});
    const auto is_away = [](const capture::OutputMatch& output) {
      return output.cylinder > 0 && output.fires_as > 0 && output.fires_as != output.cylinder;
    };
    for (const capture::OutputMatch& output : match.outputs) {
      if (!is_away(output)) continue;
      const auto other = std::ranges::find_if(match.outputs, [&](const auto& o) {
        return o.role == output.role && o.cylinder == output.fires_as &&
               o.fires_as == output.cylinder;
      });
      if (other == match.outputs.end()) continue;
      const bool all = std::ranges::all_of(match.outputs, [&](const auto& o) {
        return IsInjector(o) != IsInjector(output) || is_away(o);
      });
      crossed_[output.name] = fmt::format(
          "{} has the place of cylinder {}, and {} its own{}", output.name, output.fires_as,
          other->name,
          all ? ": they are exchanged, or the wheels are half a turn off" : ": exchanged");
    }
    for (const capture::OutputMatch& output : match.outputs) {
      if (IsInjector(output) && !match.injectors_off.empty())
        crossed_.emplace(output.name, match.injectors_off);
    }
  }
  static bool IsInjector(const capture::OutputMatch& output) {
    return output.role == capture::Role::kInjector;
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

  // Cylinders seen, as the firing order has them; none: one that the engine does not have is there.
  std::vector<int> Due(std::size_t kind) const {
    const std::set<int> cylinders(order_[kind].begin(), order_[kind].end());
    std::vector<int> due;
    for (const int cylinder : bench_.engine.firing_order) {
      if (cylinders.contains(cylinder)) due.push_back(cylinder);
    }
    return due.size() == cylinders.size() ? due : std::vector<int>();
  }

  // How many fall where the firing order does not have them, and the first of them.
  struct Wrong {
    std::size_t count = 0, first = 0;
  };
  static Wrong WrongIn(const std::vector<int>& seen, const std::vector<int>& due) {
    Wrong wrong;
    for (std::size_t i = 1; i < seen.size(); ++i) {
      const auto at = std::find(due.begin(), due.end(), seen[i - 1]);
      const auto next = at + 1 == due.end() ? due.begin() : at + 1;
      if (*next != seen[i] && wrong.count++ == 0) wrong.first = i - 1;
    }
    return wrong;
  }
  // But for one in ten: an engine that stops and starts anew begins anywhere.
  static bool InOrder(const std::vector<int>& seen, const std::vector<int>& due) {
    return WrongIn(seen, due).count * kOneIn <= seen.size() - 1;
  }

  // Pairs of cylinders that, exchanged, would be in the firing order.
  std::vector<std::pair<int, int>> ExchangedIn(std::size_t kind,
                                               const std::vector<int>& due) const {
    std::vector<std::pair<int, int>> pairs;
    for (std::size_t a = 0; a < due.size(); ++a) {
      for (std::size_t b = a + 1; b < due.size(); ++b) {
        std::vector<int> seen = order_[kind];
        for (int& cylinder : seen) {
          cylinder = cylinder == due[a] ? due[b] : cylinder == due[b] ? due[a] : cylinder;
        }
        if (InOrder(seen, due)) pairs.emplace_back(due[a], due[b]);
      }
    }
    return pairs;
  }

  // Per cylinder what is wrong with its place among the others; in order: none.
  std::map<int, std::string> OutOfOrder(std::size_t kind) const {
    const std::vector<int> due = Due(kind);
    if (due.size() < 2) return {};
    if (InOrder(order_[kind], due)) return OutOfStep(kind, due);
    const std::vector<int>& seen = order_[kind];
    const std::size_t first = WrongIn(seen, due).first;
    const std::vector<int> shown(
        seen.begin() + static_cast<std::ptrdiff_t>(first),
        seen.begin() + static_cast<std::ptrdiff_t>(std::min(seen.size(), first + kOrderShown)));
    std::string text = fmt::format("the order is {}, the firing order {}", fmt::join(shown, " "),
                                   fmt::join(due, " "));
    const std::vector<std::pair<int, int>> pairs = ExchangedIn(kind, due);
    for (std::size_t i = 0; i < pairs.size(); ++i) {
      text += fmt::format("{}{} and {}", i == 0 ? "; exchanged: cylinders " : ", or ",
                          pairs[i].first, pairs[i].second);
    }
    std::map<int, std::string> wrong;
    for (const int cylinder : due) {
      const bool clear =
          pairs.size() == 1 && cylinder != pairs[0].first && cylinder != pairs[0].second;
      if (!clear) wrong[cylinder] = text;
    }
    return wrong;
  }

  // Those in order whose distances are not: two cylinders are in order whichever is which, and 90
  // degrees behind is not 90 before.
  std::map<int, std::string> OutOfStep(std::size_t kind, const std::vector<int>& due) const {
    std::map<int, std::string> wrong;
    const auto& falls = falls_ns_[kind];
    for (std::size_t i = 1; i < due.size(); ++i) {
      const auto behind_deg = BehindDeg(falls.at(due[0]), falls.at(due[i]));
      if (!behind_deg) continue;
      const double due_deg = WrapSignedDeg(AngleDeg(due[i]) - AngleDeg(due[0]), TurnDeg());
      const double off_deg = WrapSignedDeg(*behind_deg - due_deg, TurnDeg());
      if (std::abs(off_deg) < LeastStepDeg(due) / 2) continue;
      const std::string text =
          fmt::format("cylinder {} comes {:.0f}° behind cylinder {}, should be {:.0f}°{}", due[i],
                      WrapDeg(*behind_deg, TurnDeg()), due[0], WrapDeg(due_deg, TurnDeg()),
                      due.size() == 2 ? ": they are exchanged" : "");
      wrong[due[0]] = wrong[due[i]] = text;
    }
    return wrong;
  }
  double AngleDeg(int cylinder) const {
    const std::vector<int>& order = bench_.engine.firing_order;
    const auto at = std::ranges::find(order, cylinder) - order.begin();
    return Nth(bench_.engine.firing_angles_deg, at);
  }
  double LeastStepDeg(const std::vector<int>& due) const {
    double least_deg = TurnDeg();
    for (std::size_t i = 1; i < due.size(); ++i) {
      const double step_deg =
          std::abs(WrapSignedDeg(AngleDeg(due[i]) - AngleDeg(due[i - 1]), TurnDeg()));
      if (step_deg > 0) least_deg = std::min(least_deg, step_deg);
    }
    return least_deg;
  }

  // Of a cylinder's two coils, how far the trailing one is behind.
  std::optional<double> TrailingBehindDeg(int cylinder) const {
    const auto leading = falls_ns_[0].find(cylinder), trailing = falls_ns_[2].find(cylinder);
    if (leading == falls_ns_[0].end() || trailing == falls_ns_[2].end()) return std::nullopt;
    return BehindDeg(leading->second, trailing->second);
  }
  // The middle one of its shares of the time between two falls of the first.
  std::optional<double> BehindDeg(const std::vector<double>& at,
                                  const std::vector<double>& other) const {
    std::vector<double> shares;
    for (std::size_t i = 1; i < at.size(); ++i) {
      const auto next = std::ranges::lower_bound(other, at[i - 1]);
      if (next == other.end() || *next >= at[i]) continue;
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
    const auto behind_deg = TrailingBehindDeg(output.cylinder);
    if (!profile::IsIgnition(output.kind) || due_deg == 0 || !behind_deg) return "";
    if (std::abs(*behind_deg - due_deg) <= std::abs(*behind_deg + due_deg)) return "";
    return fmt::format(
        "of cylinder {} the trailing plug fires {:.1f}° {} the leading one, should be "
        "{:.1f}° behind: their leads are exchanged",
        output.cylinder, std::abs(*behind_deg), *behind_deg < 0 ? "before" : "behind", due_deg);
  }

  std::string CrossedAt(const std::string& output) const {
    const auto crossed = crossed_.find(output);
    return crossed == crossed_.end() ? "" : crossed->second;
  }

  void Judge() {
    const std::array<std::map<int, std::string>, 3> wrong = {OutOfOrder(0), OutOfOrder(1),
                                                             OutOfOrder(2)};
    for (const Track& track : tracks_) {
      const profile::ControllerOutput& output = OutputOf(track);
      Seen seen;
      seen.output = track.output;
      if (!IsPulsed(output)) {
        seen.acts = track.changes > 0;
        seen.detail = fmt::format("{} changes of level", track.changes);
      } else {
        const auto& of_kind = wrong[PlaceOf(output.kind)];
        const auto misplaced = of_kind.find(output.cylinder);
        const std::string order =
            output.cylinder == 0
                ? ""
                : (misplaced == of_kind.end() ? CrossedAt(output.name) : misplaced->second) +
                      Exchanged(output);
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
  std::map<std::string, std::string> crossed_;  // by output: what crank and cams say
};

}  // namespace

Capture ReadCapture(const profile::Bench& bench, const std::string& path) {
  return Reader(bench, path).Read();
}

}  // namespace drycrank::study
