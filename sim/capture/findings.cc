// SPDX-License-Identifier: Apache-2.0
#include "capture/findings.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "capture/output_findings.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::capture {
namespace {

constexpr double kFewStray = 0.001;  // of the edges: an engine that begins to turn gives some
constexpr double kWholeBelt = 0.2;   // of a belt tooth, from a whole number of them

bool IsCoil(const profile::Trigger& trigger) {
  return std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
}

class Sentences {
 public:
  explicit Sentences(const Measured& m) : m_(m) {}

  std::vector<Finding> All() {
    if (m_.crank != nullptr) OfCrank(m_.crank->about);
    for (const TriggerMatch& cam : m_.cams) OfCam(cam);
    OfCamsTogether();
    for (Finding& finding : OutputFindings(m_)) out_.push_back(std::move(finding));
    OfTurns();
    OfTimingLock();
    OfWhatIsNotThere();
    OfCoarseSamples();
    for (const CapturedChannel& channel : m_.channels) {
      if (channel.cut)
        Note(fmt::format("{}: only its first {} edges were looked at", channel.about.name,
                         kMostChanges));
    }
    return std::move(out_);
  }

 private:
  double ToleranceDeg() const { return capture::ToleranceDeg(m_); }
  void Off(std::string text) { out_.push_back({Says::kOff, std::move(text)}); }
  void CannotTell(std::string text) { out_.push_back({Says::kCannotTell, std::move(text)}); }
  void NeverChanges(const std::string& name) {
    Off(fmt::format("{}: never changes: the engine stands, or nothing is connected", name));
  }
  void Note(std::string text) { out_.push_back({Says::kNote, std::move(text)}); }

  void OfCrank(const TriggerMatch& crank) {
    const profile::Trigger& trigger = Nth(m_.bench.triggers, crank.trigger);
    if (!crank.changes) return NeverChanges(crank.name);
    if (m_.crank->track.stretches.empty() && TooFewEdges(trigger.name)) return;
    if (m_.crank->is_by_chance) {
      CannotTell(fmt::format(
          "{}: which wheel turns there: its edges fit none all along, and one for a short way only; "
          "that takes more samples a tooth, or a clean signal",
          crank.name));
      return;
    }
    if (m_.crank->track.stretches.empty()) {
      Off(fmt::format("{}: no known wheel fits its edges; --learn writes the one that is seen",
                      crank.name));
      return;
    }
    if (!crank.part.empty()) {
      Off(fmt::format("{}: this is a {}, not the bench's {}: it fits {}", crank.name, crank.wheel,
                      NameOf(trigger), crank.part));
    }
    for (const int tooth : crank.gone_teeth) {
      const double at_deg = ToothDeg(trigger, tooth);
      Off(fmt::format("{}: tooth {}, which begins at {:.1f}° of the crank, is not there",
                      crank.name, tooth, at_deg));
    }
    if (crank.wiring == Wiring::kReversed) OfReversedCrank(trigger, crank);
    if (crank.wiring == Wiring::kCannotTell) {
      CannotTell(fmt::format("{}: which way round it is wired; its wave looks the same either way",
                             crank.name));
    }
    if (m_.crank->open_deg < 359 && !m_.zero.by_cam) {
      CannotTell(fmt::format("{}: where its turn begins; it looks the same every {:.4g}°",
                             crank.name, m_.crank->open_deg));
    }
    if (m_.crank->track.stretches.size() > 1) {
      const double turns = m_.crank->track.stretches[m_.zero.stretch].turns();
      Note(fmt::format("{}: followed in {} stretches; angles are of the longest, {:.0f} turns",
                       crank.name, m_.crank->track.stretches.size(), turns));
    }
    if (crank.gone_teeth.empty() && (crank.missing > 0 || crank.extra > 0)) OfStrayEdges(crank);
  }

  // A wheel of few teeth in a short capture.
  bool TooFewEdges(const std::string& name) {
    const CapturedChannel* channel = ChannelOf(m_.crank->about.trigger);
    const WheelPattern& pattern = m_.crank->tried.pattern;
    const int seen = static_cast<int>(channel == nullptr ? 0 : channel->changes.size()) /
                     (pattern.both_edges ? 1 : 2);
    if (pattern.marks.empty() || seen > LeastWindow(pattern)) return false;
    CannotTell(fmt::format(
        "{}: which wheel turns there: {} edges, and its place is found by {}: a longer capture",
        name, seen, LeastWindow(pattern) + 1));
    return true;
  }

  void OfStrayEdges(const TriggerMatch& crank) {
    const CrankTrack& track = m_.crank->track;
    std::string text =
        fmt::format("{}: {} edges missing now and then, {} too many, in {:.0f} turns", crank.name,
                    crank.missing, crank.extra, track.turns());
    const double stray = crank.missing + crank.extra;
    stray > std::max(2.0, kFewStray * track.placed) ? Off(std::move(text)) : Note(std::move(text));
  }

  static std::string NameOf(const profile::Trigger& trigger) {
    return trigger.wheel.name.empty() ? fmt::format("wheel of {} teeth", trigger.wheel.teeth.size())
                                      : trigger.wheel.name;
  }

  static double ToothDeg(const profile::Trigger& trigger, int tooth) {
    return WrapDeg(trigger.offset_deg + Nth(trigger.wheel.teeth, tooth - 1).begin_deg, 360);
  }

  void OfReversedCrank(const profile::Trigger& trigger, const TriggerMatch& crank) {
    if (!IsCoil(trigger)) {
      Off(fmt::format("{}: its level is inverted: a tooth makes it {}, the bench has {}",
                      crank.name, InvertedLevel(trigger), DrawnLevel(trigger)));
      return;
    }
    const double half_deg = m_.crank->tried.pattern.LeastStepDeg() / 2;
    Off(
        fmt::format("{}: the two leads are swapped: it comes back from the gap with its {} half; "
                    "an input that waits for the fall sees each "
                    "tooth {:.1f}° late, and no clean gap",
                    crank.name, m_.crank->tried.steep_rises ? "negative" : "positive", half_deg));
  }

  static bool IsLowAtTooth(const profile::Trigger& trigger) {
    const auto* hall = std::get_if<profile::HallPickup>(&trigger.pickup);
    return hall == nullptr || hall->low_at_tooth;
  }
  static const char* DrawnLevel(const profile::Trigger& trigger) {
    return IsLowAtTooth(trigger) ? "low" : "high";
  }
  static const char* InvertedLevel(const profile::Trigger& trigger) {
    return IsLowAtTooth(trigger) ? "high" : "low";
  }

  void OfCam(const TriggerMatch& cam) {
    const profile::Trigger& trigger = Nth(m_.bench.triggers, cam.trigger);
    if (!cam.changes) return NeverChanges(cam.name);
    if (!cam.late_deg) {
      Off(fmt::format("{}: none of its edges is where a tooth of its wheel is due", cam.name));
      return;
    }
    if (!cam.part.empty())
      Off(fmt::format("{}: this is a {}, not the bench's {}: it fits {}", cam.name, cam.wheel,
                      NameOf(trigger), cam.part));
    OfCamWiring(cam, trigger);
    if (!cam.is_as_built && cam.part.empty()) OfCamEdges(cam);
    if (trigger.advance_stimulus >= 0) {
      OfTurnedCam(cam, Nth(m_.bench.stimuli, trigger.advance_stimulus).max);
    } else if (std::abs(*cam.late_deg) > ToleranceDeg()) {
      Off(AngleInWords(cam, *cam.late_deg));
    }
    OfBentTeeth(cam);
  }

  void OfCamWiring(const TriggerMatch& cam, const profile::Trigger& trigger) {
    if (cam.wiring == Wiring::kCannotTell && m_.outputs.coils_once_a_cycle) {
      return;  // inverted is half a turn on, which the coils show
    }
    if (cam.wiring == Wiring::kCannotTell) {
      CannotTell(fmt::format(
          "{}: whether its level is inverted; its wheel looks the same either way, half a turn on",
          cam.name));
    } else if (cam.wiring == Wiring::kReversed && IsCoil(trigger)) {
      Off(fmt::format("{}: the two leads are swapped", cam.name));
    } else if (cam.wiring == Wiring::kReversed) {
      Off(fmt::format("{}: its level is inverted: a tooth makes it {}, the bench has {}", cam.name,
                      InvertedLevel(trigger), DrawnLevel(trigger)));
    }
  }

  void OfCamEdges(const TriggerMatch& cam) {
    std::vector<std::string> missing;
    for (const EdgePlace& edge : cam.edges) {
      if (!edge.seen) missing.push_back(fmt::format("{} ({:.1f}°)", edge.what, edge.due_deg));
    }
    const std::string which =
        missing.empty() ? "" : fmt::format("; missing: {}", fmt::join(missing, ", "));
    Off(fmt::format("{}: {} edges missing in each cycle, {} too many{}", cam.name, cam.missing,
                    cam.extra, which));
  }

  // A wheel whose edges are not all off by the same.
  void OfBentTeeth(const TriggerMatch& cam) {
    for (const EdgePlace& edge : cam.edges) {
      const double own_deg = edge.off_deg - *cam.late_deg;
      if (!edge.seen || std::abs(own_deg) <= OwnToleranceDeg(m_)) continue;
      Off(fmt::format("{}: where {}, it is {} against the wheel's other edges", cam.name, edge.what,
                      LateInWords(own_deg)));
    }
  }

  const CapturedChannel* ChannelOf(int trigger) const {
    for (const CapturedChannel& channel : m_.channels) {
      if (channel.about.role == Role::kTrigger && channel.about.trigger == trigger) return &channel;
    }
    return nullptr;
  }

  std::string AngleInWords(const TriggerMatch& cam, double late_deg) const {
    std::string text =
        fmt::format("{} is {} ± {:.1f}°", cam.name, LateInWords(late_deg), cam.uncertain_deg);
    const double half_deg = m_.bench.engine.cycle_deg() / 2;
    const bool on_cam = Nth(m_.bench.triggers, cam.trigger).shaft == profile::Shaft::kCam;
    if (on_cam && std::abs(std::abs(late_deg) - half_deg) < kHalfTurnDeg / 4) {
      text += ": half a turn of the cam";
    }
    return text + BeltInWords(cam, late_deg) + OrInverted(m_, late_deg);
  }

  // A cam that can be turned is early while it is; its latest place is where it rests.
  void OfTurnedCam(const TriggerMatch& cam, double most_deg) {
    const double tolerance_deg = ToleranceDeg();
    const bool moves = cam.most_late_deg - cam.least_late_deg > 2 * tolerance_deg;
    const double rest_deg = moves ? cam.most_late_deg : *cam.late_deg;
    const std::string turned =
        moves ? fmt::format("; its wheel is turned in this capture, from {} to {}",
                            LateInWords(cam.least_late_deg), LateInWords(cam.most_late_deg))
              : "";
    const double least_deg = moves ? cam.least_late_deg : rest_deg;
    if (rest_deg > tolerance_deg || least_deg < -most_deg - tolerance_deg) {
      return Off(AngleInWords(cam, rest_deg > tolerance_deg ? rest_deg : least_deg) + turned);
    }
    if (rest_deg < -tolerance_deg) {
      return CannotTell(fmt::format(
          "whether {}, or turned: it can be by up to {:.4g}°; a capture while it rests shows it{}",
          AngleInWords(cam, rest_deg), most_deg, turned));
    }
    if (moves) Note(cam.name + ": at rest it is where it belongs" + turned);
  }

  std::string BeltInWords(const TriggerMatch& cam, double late_deg) const {
    const CapturedChannel* channel = ChannelOf(cam.trigger);
    if (channel == nullptr || channel->about.belt_teeth == 0) return "";
    const double tooth_deg = m_.bench.engine.cycle_deg() / channel->about.belt_teeth;
    const double teeth = std::abs(late_deg) / tooth_deg;
    if (std::lround(teeth) < 1 || std::abs(teeth - std::round(teeth)) > kWholeBelt) {
      return fmt::format(": no whole number of belt teeth ({:.1f}° each)", tooth_deg);
    }
    return fmt::format(": {:.0f} belt {} of {:.1f}°", std::round(teeth),
                       std::lround(teeth) == 1 ? "tooth" : "teeth", tooth_deg);
  }

  // All late alike: the crank's wheel may be the one that is off.
  void OfCamsTogether() {
    if (m_.cams.size() < 2) return;
    double least = 1e9, most = -1e9;
    for (const TriggerMatch& cam : m_.cams) {
      if (!cam.late_deg) return;
      least = std::min(least, *cam.late_deg);
      most = std::max(most, *cam.late_deg);
    }
    if (most - least > OwnToleranceDeg(m_) || std::abs(most) <= ToleranceDeg())
      return;
    Note(fmt::format("all cams are {} alike: so it may be the crank's wheel that is {}",
                     LateInWords((least + most) / 2), LateInWords(-(least + most) / 2)));
  }

  // Crank and first cam are the same after a turn of the crank and half a one of the cam.
  void OfTurns() {
    if (m_.crank == nullptr || m_.crank->track.stretches.empty() || m_.bench.engine.strokes == 2)
      return;
    if (m_.cams.empty() && !m_.outputs.coils_once_a_cycle) {
      CannotTell(
          "which of the two turns of a cycle is which: that takes a cam in the same capture");
    } else if (!m_.outputs.coils_once_a_cycle) {
      CannotTell(
          "whether a cam is half a turn off: the crank is the same after each turn; that takes a "
          "coil that fires once in a cycle");
    }
  }

  // The controller fires where it believes `fixed` degrees before top dead centre to be.
  void OfTimingLock() {
    if (!m_.options.fixed_advance_deg || !m_.bench.controller) return;
    if (!m_.outputs.coils_late_deg) {
      CannotTell("the timing: no coil in this capture fires");
      return;
    }
    const double late_deg = WrapSignedDeg(*m_.outputs.coils_late_deg, 360);
    const profile::Decoder& decoder = m_.bench.controller->decoder;
    const double told_deg = Nth(m_.bench.controller->triggers, decoder.primary).offset_deg;
    const std::string measured =
        fmt::format("told {:.1f}°, it fires {:.1f}° ± {:.1f}° before top dead centre",
                    *m_.options.fixed_advance_deg, *m_.options.fixed_advance_deg - late_deg,
                    m_.outputs.coils_uncertain_deg);
    if (std::abs(late_deg) <=
        std::max(m_.options.tolerance_deg / 4, 2 * m_.outputs.coils_uncertain_deg)) {
      Note(measured + ": the offset is right");
      return;
    }
    Off(fmt::format("{}: the offset is {:.1f}° ± {:.1f}° off: tell it {:.4g} instead of {:.4g}",
                    measured, std::abs(late_deg), m_.outputs.coils_uncertain_deg,
                    WrapDeg(std::round((told_deg + late_deg) * 10) / 10, 720), told_deg));
  }

  void OfCoarseSamples() {
    const bool any = std::ranges::any_of(m_.cams, [](const auto& cam) { return !!cam.late_deg; }) ||
                     !m_.outputs.outputs.empty();
    if (!any || m_.step_deg <= m_.options.tolerance_deg) return;
    CannotTell(fmt::format(
        "what is off by less than {:.1f}°: the crank turns so far from one sample to the next; that "
        "takes {:.1f} times the rate",
        m_.step_deg, std::ceil(10 * m_.step_deg / m_.options.tolerance_deg) / 10));
  }

  void OfWhatIsNotThere() {
    std::vector<std::string> names;
    for (std::size_t i = 0; i < m_.bench.triggers.size(); ++i) {
      if (ChannelOf(static_cast<int>(i)) == nullptr && m_.bench.triggers[i].fitted)
        names.push_back(m_.bench.triggers[i].name);
    }
    if (!names.empty())
      CannotTell(fmt::format("anything of {}: not in this capture", fmt::join(names, ", ")));
    const bool has_outputs = !m_.outputs.outputs.empty();
    if (!has_outputs)
      Note("no coil and no injector is in this capture: their angles are not measured");
  }

  const Measured& m_;
  std::vector<Finding> out_;
};

}  // namespace

double OwnToleranceDeg(const Measured& measured) {
  return std::max(measured.options.tolerance_deg, measured.step_deg);
}

double ToleranceDeg(const Measured& measured) {
  return OwnToleranceDeg(measured) +
         (measured.crank != nullptr ? measured.crank->either_way_deg : 0);
}

std::string OrInverted(const Measured& measured, double late_deg) {
  const bool either = measured.crank != nullptr && measured.crank->tried.pattern.both_edges &&
                      measured.crank->about.wiring == Wiring::kCannotTell;
  if (!either || std::abs(std::abs(WrapSignedDeg(late_deg, 360)) - 180) > kHalfTurnDeg / 2) return "";
  return fmt::format("; or the level of {} is inverted", measured.crank->about.name);
}

std::string LateInWords(double deg) {
  return fmt::format("{:.1f}° {}", std::abs(deg), deg < 0 ? "early" : "late");
}

std::vector<Finding> FindingsOf(const Measured& measured) { return Sentences(measured).All(); }

}  // namespace drycrank::capture
