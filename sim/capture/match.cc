// SPDX-License-Identifier: Apache-2.0
#include "capture/match.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <tuple>

#include "capture/findings.h"
#include "capture/holes.h"
#include "capture/match_outputs.h"
#include "capture/output_findings.h"
#include "capture/sampling.h"
#include "profile/turning_wheel.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::capture {
namespace {

// The primary trigger's channel, else the one of the crank with most edges, else the one with most
// edges.
int CrankChannel(const profile::Bench& bench, const std::vector<CapturedChannel>& channels) {
  int best = -1;
  const auto rank = [&](const CapturedChannel& channel) {
    const profile::Trigger& trigger = Nth(bench.triggers, channel.about.trigger);
    return std::pair(trigger.shaft == profile::Shaft::kCrank, trigger.wheel.teeth.size());
  };
  for (std::size_t i = 0; i < channels.size(); ++i) {
    if (channels[i].about.role != Role::kTrigger) continue;
    if (best < 0 || rank(channels[i]) > rank(Nth(channels, best))) best = static_cast<int>(i);
  }
  return best;
}

std::span<const SeenChange> LongestWithoutHole(std::span<const SeenChange> edges) {
  std::span<const SeenChange> longest;
  for (std::size_t from = 0, to = 1; from < edges.size(); from = to++) {
    while (to < edges.size() && !edges[to].after_hole) ++to;
    if (to - from > longest.size()) longest = edges.subspan(from, to - from);
  }
  return longest;
}

// Where edges are seen and the crank is not followed: before, between and after its stretches.
std::vector<std::string> NotFollowed(const std::string& name, const WheelPattern& pattern,
                                     std::span<const SeenChange> edges, const CrankTrack& track) {
  std::vector<std::string> said;
  auto at = edges.begin();
  for (std::size_t i = 0; i <= track.stretches.size(); ++i) {
    const bool is_last = i == track.stretches.size();
    const auto end = is_last
                         ? edges.end()
                         : std::ranges::lower_bound(at, edges.end(), track.stretches[i].from_ns(),
                                                    {}, &SeenChange::t_ns);
    const auto count = end - at;
    if (count > std::max(pattern.size() / 2, 4)) {
      said.push_back(fmt::format(
          "what happened from {:.6f} s to {:.6f} s: {} edges of {} could not be followed there",
          at->t_ns * 1e-9, (end - 1)->t_ns * 1e-9, count, name));
    }
    if (is_last) break;
    at = std::ranges::upper_bound(end, edges.end(), track.stretches[i].to_ns(), {},
                                  &SeenChange::t_ns);
  }
  return said;
}

class Matcher {
 public:
  Matcher(const profile::Bench& bench, const std::vector<WheelPart>& parts,
          const MatchOptions& options)
      : bench_(bench), parts_(parts), options_(options) {}

  MatchResult Run(const std::string& path, const ChannelMap& map) {
    out_.capture = ReadCaptureFile(path, bench_, map);
    out_.problems = out_.capture.problems;
    if (!out_.problems.empty()) return std::move(out_);
    const Sampling sampling = SamplingOf(path, out_.capture);
    out_.samples_per_tooth = sampling.samples_per_tooth;
    if (sampling.problem) {
      out_.problems.push_back(*sampling.problem);
      return std::move(out_);
    }
    channels_ = std::move(out_.capture.channels);
    out_.capture.channels.clear();
    const int crank_channel = CrankChannel(bench_, channels_);
    if (crank_channel >= 0) MatchTriggers(crank_channel);
    const auto narrow =
        crank_ ? TooNarrowIn(path, Nth(channels_, crank_channel)) : std::nullopt;
    if (narrow) {
      out_.problems.push_back(*narrow);
      return std::move(out_);
    }
    if (crank_ && crank_->is_by_chance) crank_->track = {};
    out_.outputs = outputs_.outputs;
    const Measured measured{bench_, channels_, crank_ ? &*crank_ : nullptr, cams_, outputs_,
                            zero_,  StepDeg(), options_};
    std::vector<Finding> more = FindingsOf(measured);
    out_.injectors_off = InjectorsOff(measured);
    out_.findings.insert(out_.findings.end(), more.begin(), more.end());
    if (crank_ && crank_->track.any()) SayNotFollowed(Nth(channels_, crank_channel));
    for (std::string& hole : HolesInWords(out_.capture))
      out_.findings.push_back({Says::kCannotTell, std::move(hole)});
    if (!crank_)
      out_.findings.push_back(
          {Says::kCannotTell, "any angle: no trigger wheel is in this capture"});
    return std::move(out_);
  }

 private:
  // Of the wheel as it is drawn: a coil's wave does not show how wide a tooth is.
  std::optional<Diagnostic> TooNarrowIn(const std::string& path,
                                        const CapturedChannel& channel) const {
    profile::Trigger trigger = Nth(bench_.triggers, crank_->about.trigger);
    for (const WheelPart& part : parts_) {
      if (part.file == crank_->tried.file) trigger.wheel = part.wheel;
    }
    const double narrow_deg = PatternOf(trigger, bench_.engine, false).LeastStepDeg();
    const WheelTried& tried = crank_->tried;
    const auto edges = EdgesOf(channel, tried.pattern.both_edges, tried.steep_rises);
    return TooNarrow(path, out_.capture.step_ns, *crank_, narrow_deg, edges.size());
  }

  void MatchTriggers(int crank_channel) {
    const CapturedChannel& channel = Nth(channels_, crank_channel);
    crank_ = MatchCrank(bench_, channel, parts_);
    if (crank_->is_even) CountTeeth(channel, crank_channel);
    Learn(channel);
    if (crank_->is_by_chance) return out_.triggers.push_back(crank_->about);
    if (crank_->track.any()) {
      MatchTheRest(crank_channel);
      ChooseGone(crank_channel);
    }
    out_.triggers.push_back(crank_->about);
    out_.triggers.insert(out_.triggers.end(), cams_.begin(), cams_.end());
    out_.least_rpm = crank_->track.least_rpm;
    out_.most_rpm = crank_->track.most_rpm;
    out_.turns = crank_->track.turns();
  }

  // How far the first cam is off, of those that are found; nothing: none is.
  std::optional<double> CamOffDeg() const {
    for (const TriggerMatch& cam : cams_) {
      if (cam.late_deg) return std::abs(WrapSignedDeg(*cam.late_deg, bench_.engine.cycle_deg()));
    }
    return std::nullopt;
  }

  // Of teeth that would leave the same wheel, turned: the one with which the cam is nearest its place.
  void ChooseGone(int crank_channel) {
    const std::vector<int> alike = crank_->tried.alike;
    if (crank_->tried.gone_tooth == 0 || alike.empty()) return;
    std::string others;
    for (const int tooth : alike) {
      const int before = crank_->tried.gone_tooth;
      auto kept = std::tuple(*crank_, cams_, outputs_, zero_);
      const auto off_deg = CamOffDeg();
      crank_ = MatchCrankWithout(bench_, Nth(channels_, crank_channel), tooth);
      cams_.clear(), outputs_ = {}, zero_ = {};
      if (crank_->track.any()) MatchTheRest(crank_channel);
      const auto now_deg = CamOffDeg();
      const bool nearer = off_deg && now_deg && *now_deg < *off_deg;
      if (!nearer) std::tie(*crank_, cams_, outputs_, zero_) = std::move(kept);
      others += fmt::format(" or {}", nearer ? before : tooth);
    }
    std::string text = fmt::format(
        "{}: whether tooth {}{} is gone: the wheel looks the same, turned{}", crank_->about.name,
        crank_->tried.gone_tooth, others,
        CamOffDeg() ? "; taken for the one with which the first cam is nearest its place" : "");
    out_.findings.push_back({Says::kCannotTell, std::move(text)});
  }

  void SayNotFollowed(const CapturedChannel& channel) {
    const WheelTried& tried = crank_->tried;
    const auto edges = EdgesOf(channel, tried.pattern.both_edges, tried.steep_rises);
    for (std::string& text : NotFollowed(crank_->about.name, tried.pattern, edges, crank_->track))
      out_.findings.push_back({Says::kCannotTell, std::move(text)});
  }

  double StepDeg() const {
    return crank_ ? out_.capture.step_ns * crank_->track.most_rpm * 6e-9 : 0;
  }

  void MatchTheRest(int crank_channel) {
    zero_.stretch = LongestOf(crank_->track);
    const double step_deg = StepDeg();
    for (std::size_t i = 0; i < channels_.size(); ++i) {
      if (static_cast<int>(i) == crank_channel || channels_[i].about.role != Role::kTrigger)
        continue;
      cams_.push_back(MatchCam(bench_, channels_[i], parts_, *crank_, step_deg, zero_));
    }
    outputs_ = MatchOutputs(bench_, channels_, *crank_, zero_, step_deg, options_);
    if (zero_.by_cam || !outputs_.coils_late_deg || !outputs_.coils_once_a_cycle) return;
    // No cam: coils that fire once in a cycle say which turn is which.
    zero_.deg += std::round(*outputs_.coils_late_deg / 360) * 360;
    outputs_ = MatchOutputs(bench_, channels_, *crank_, zero_, step_deg, options_);
  }

  // Even teeth all look alike: how many there are in a turn, another wheel tells.
  void CountTeeth(const CapturedChannel& crank, int crank_channel) {
    const double teeth = static_cast<double>(crank_->tried.pattern.size()) /
                         (crank_->tried.pattern.both_edges ? 2 : 1);
    for (std::size_t i = 0; i < channels_.size(); ++i) {
      if (static_cast<int>(i) == crank_channel || channels_[i].about.role != Role::kTrigger)
        continue;
      const profile::Trigger& mark = Nth(bench_.triggers, channels_[i].about.trigger);
      const int counted =
          TeethPerPeriod(crank, channels_[i], static_cast<int>(mark.wheel.teeth.size()));
      if (counted == 0) continue;
      const double periods =
          profile::TurningWheelOf(mark, bench_.engine).turn_deg / crank_->tried.pattern.turn_deg;
      TakeCounted(crank, counted / periods, teeth);
      return;
    }
    std::string text = fmt::format(
        "{}: how many teeth it has; even teeth look alike, and no other wheel is in this capture "
        "to count them by",
        crank_->about.name);
    out_.findings.push_back({Says::kCannotTell, std::move(text)});
  }

  void TakeCounted(const CapturedChannel& crank, double counted, double teeth) {
    if (std::abs(counted - teeth) < 0.5) return;
    const auto even = [&](const WheelPart& part) {
      const profile::Trigger& trigger = Nth(bench_.triggers, crank.about.trigger);
      return IsEven(PatternOf(trigger, part.wheel, bench_.engine, false)) &&
             std::abs(static_cast<double>(part.wheel.teeth.size()) - counted) < 0.5;
    };
    const auto part = std::ranges::find_if(parts_, even);
    WheelPart made;
    if (part != parts_.end()) {
      made = *part;
    } else {
      made.file = "no part";
      made.wheel.name = fmt::format("wheel of {:.0f} even teeth", counted);
      const double pitch_deg = 360 / std::round(counted);
      for (int k = 0; k < std::lround(counted); ++k)
        made.wheel.teeth.push_back({k * pitch_deg, (k + 0.5) * pitch_deg});
    }
    const profile::Trigger& trigger = Nth(bench_.triggers, crank.about.trigger);
    const bool is_built =
        std::abs(static_cast<double>(trigger.wheel.teeth.size()) - counted) < 0.5 &&
        IsEven(PatternOf(trigger, bench_.engine, false));
    if (is_built) made = {"", trigger.wheel};
    crank_ = MatchCrankAs(bench_, crank, made);
  }

  void Learn(const CapturedChannel& channel) {
    const bool both = crank_->tried.pattern.both_edges;
    const profile::Trigger& trigger = Nth(bench_.triggers, channel.about.trigger);
    const auto* hall = std::get_if<profile::HallPickup>(&trigger.pickup);
    const bool low_is_tooth = (hall == nullptr || hall->low_at_tooth) !=
                              (both && crank_->tried.laid.inverted && crank_->tried.fits());
    const auto edges = EdgesOf(channel, both, crank_->tried.steep_rises);
    out_.learnt = LearnWheel(LongestWithoutHole(edges), both, low_is_tooth);
  }

  const profile::Bench& bench_;
  const std::vector<WheelPart>& parts_;
  const MatchOptions& options_;
  MatchResult out_;
  std::vector<CapturedChannel> channels_;
  std::optional<CrankMatch> crank_;
  std::vector<TriggerMatch> cams_;
  OutputsMatch outputs_;
  CycleZero zero_;
};

}  // namespace

bool MatchResult::Any(Says says) const {
  return std::ranges::any_of(findings,
                             [says](const Finding& finding) { return finding.says == says; });
}

MatchResult Match(const profile::Bench& bench, const std::string& path, const ChannelMap& map,
                  const std::vector<WheelPart>& parts, const MatchOptions& options) {
  return Matcher(bench, parts, options).Run(path, map);
}

}  // namespace drycrank::capture
