// SPDX-License-Identifier: Apache-2.0
#include "capture/output_findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::capture {
namespace {

// An injection's end is reckoned ahead, by the speed before: from it engine and emissions hardly
// differ, and controllers keep it less strictly than a spark (common practice, no source).
constexpr double kInjectionDeg = 10;
constexpr double kFewCycles = 3;

bool IsCoil(const profile::Trigger& trigger) {
  return std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
}

bool IsWholeTurn(double deg) { return std::abs(std::abs(deg) - 360) < kHalfTurnDeg; }

class OutputSentences {
 public:
  explicit OutputSentences(const Measured& m) : m_(m) {}

  std::vector<Finding> All() {
    OfEach(Role::kCoil, "fires");
    OfCoils();
    OfEach(Role::kTrailingCoil, "fires");
    OfTrailingCoils();
    OfEach(Role::kInjector, "ends");
    OfInjectors();
    return std::move(out_);
  }

  std::string InjectorsOff() const {
    const auto late_deg = InjectorsLateDeg();
    if (!late_deg || !IsStated() || std::abs(*late_deg) <= InjectionToleranceDeg()) return "";
    return fmt::format(
        "injectors end {}, all alike, against the {:.1f}° before top dead centre of the bench{}",
        LateInWords(*late_deg), m_.bench.controller->decoder.injection_end_deg, Why(*late_deg));
  }

 private:
  void Off(std::string text) { out_.push_back({Says::kOff, std::move(text)}); }

  void OfEach(Role role, const char* what) {
    for (const OutputMatch& output : m_.outputs.outputs) {
      if (output.role == role) OfOutput(output, what);
    }
  }

  void OfOutput(const OutputMatch& output, const char* what) {
    if (output.pulses < 2 && IsShort(output)) return;
    if (output.pulses < 2) {
      Off(fmt::format("{}: {} pulses: it does not act, or at the other level (on: high, on: low)",
                      output.name, output.pulses));
      return;
    }
    if (output.fires_as > 0 && output.fires_as_role != output.role) {
      Off(fmt::format(
          "{}: {} at the place of the {} plug of cylinder {}, {:.1f}° from its own: "
          "crossed with it",
          output.name, what, output.fires_as_role == Role::kTrailingCoil ? "trailing" : "leading",
          output.fires_as, *output.off_deg));
    } else if (output.fires_as != output.cylinder && output.fires_as > 0) {
      Off(fmt::format("{}: {} at the place of cylinder {}, {:.1f}° from its own: crossed with it",
                      output.name, what, output.fires_as, *output.off_deg));
    } else if (output.fires_as == 0) {
      Off(fmt::format("{}: {} {} against the others, at no cylinder's place", output.name, what,
                      LateInWords(*output.off_deg)));
    }
    if (output.missing > 0 || output.extra > 0) {
      Off(fmt::format("{}: {} missing, {} too many in {} pulses", output.name, output.missing,
                      output.extra, output.pulses));
    }
  }

  // Two cycles may show one pulse.
  bool IsShort(const OutputMatch& output) {
    const CrankTrack& track = m_.crank->track;
    if (track.stretches.empty()) return false;
    const double cycles =
        track.stretches[m_.zero.stretch].turns() * 360 / m_.bench.engine.cycle_deg();
    if (cycles >= kFewCycles) return false;
    out_.push_back({Says::kCannotTell,
                    fmt::format("{}: {} pulse{} in {:.1f} cycles, too few to place it: a longer capture",
                                output.name, output.pulses, output.pulses == 1 ? "" : "s", cycles)});
    return true;
  }

  void OfCoils() {
    if (!m_.outputs.coils_late_deg) return;
    const double late_deg = *m_.outputs.coils_late_deg;
    if (IsWholeTurn(late_deg) && m_.bench.engine.strokes == 4) {
      Off(fmt::format(
          "coils fire {:.1f}° off, a whole turn of the crank: {}", late_deg,
          InjectorsClearTheCam() ? "the two are exchanged: the injectors are at their place"
          : m_.outputs.coils_as_exchanged
              ? "the cam is half a turn off" + HalfMoonInWords() + "; or the two are exchanged"
              : "the cam is half a turn off" + HalfMoonInWords()));
    } else if (m_.outputs.advance_known && std::abs(late_deg) > ToleranceDeg(m_) &&
               !m_.options.fixed_advance_deg) {
      Off(fmt::format(
          "coils fire {} ± {:.1f}°, all alike, against the {:.1f}° before top dead centre of the "
          "bench{}{}",
          LateInWords(late_deg), m_.outputs.coils_uncertain_deg, *AdvanceOf(m_.bench, m_.options),
          !m_.outputs.coils_as_exchanged    ? ""
          : m_.outputs.trailing_late_deg ? "; or the two are exchanged, leading and trailing"
                                         : "; or the two are exchanged",
          OrInverted(m_, late_deg)));
    }
  }

  void OfTrailingCoils() {
    if (!m_.outputs.trailing_late_deg || !m_.outputs.coils_late_deg) return;
    const double due_deg = TrailingDegOf(m_.bench);
    const double late_deg = WrapSignedDeg(
        *m_.outputs.trailing_late_deg - *m_.outputs.coils_late_deg, m_.bench.engine.cycle_deg());
    if (std::abs(late_deg) <= OwnToleranceDeg(m_)) return;
    const bool exchanged = std::abs(late_deg + 2 * due_deg) <= OwnToleranceDeg(m_);
    Off(
        fmt::format("trailing coils fire {:.1f}° {} the leading ones, all alike, should be {:.1f}° "
                    "behind{}",
                    std::abs(due_deg + late_deg), due_deg + late_deg < 0 ? "before" : "behind",
                    due_deg, exchanged ? ": as if all were exchanged with them" : ""));
  }

  std::string HalfMoonInWords() const {
    for (const TriggerMatch& cam : m_.cams) {
      if (cam.wiring == Wiring::kCannotTell && !IsCoil(Nth(m_.bench.triggers, cam.trigger))) {
        return fmt::format(", or the level of {} is inverted", cam.name);
      }
    }
    return "";
  }

  void OfInjectors() {
    const auto late_deg = InjectorsLateDeg();
    if (!late_deg) return;
    if (const std::string text = InjectorsOff(); !text.empty()) Off(text);
    if (IsStated()) return;
    out_.push_back(
        {Says::kCannotTell,
         "whether injections end where they should: the bench does not state injection_end_deg, "
         "so that is not judged"});
  }

  bool IsStated() const {
    return m_.bench.controller && m_.bench.controller->decoder.written.Has("injection_end_deg");
  }
  // Two coils a whole turn off are each at the other's place; a cam half a turn off takes injectors with it.
  bool InjectorsClearTheCam() const {
    const auto& late_deg = m_.outputs.injectors_late_deg;
    return m_.outputs.coils_as_exchanged && IsStated() && late_deg &&
           std::abs(WrapSignedDeg(*late_deg, m_.bench.engine.cycle_deg())) <= InjectionToleranceDeg();
  }
  double InjectionToleranceDeg() const {
    return std::max(kInjectionDeg, OwnToleranceDeg(m_)) + ToleranceDeg(m_) - OwnToleranceDeg(m_);
  }

  // What all have in common; less the whole turn that coils are off by too, or where the turn of the
  // cycle is not known.
  std::optional<double> InjectorsLateDeg() const {
    if (!m_.outputs.injectors_late_deg) return std::nullopt;
    const double late_deg = *m_.outputs.injectors_late_deg, cycle_deg = m_.bench.engine.cycle_deg();
    if (!m_.zero.by_cam && !m_.outputs.coils_once_a_cycle) return WrapSignedDeg(late_deg, 360);
    const bool turned = cycle_deg > 360 && m_.outputs.coils_late_deg &&
                        IsWholeTurn(*m_.outputs.coils_late_deg) && !InjectorsClearTheCam();
    return WrapSignedDeg(late_deg - (turned ? 360 : 0), cycle_deg);
  }

  double MeanWidthDeg() const {
    double ms = 0, count = 0;
    for (const OutputMatch& output : m_.outputs.outputs) {
      if (output.role != Role::kInjector || !output.off_deg) continue;
      ms += output.width_ms;
      ++count;
    }
    const double rpm =
        m_.crank == nullptr ? 0 : (m_.crank->track.least_rpm + m_.crank->track.most_rpm) / 2;
    return count == 0 ? 0 : ms / count * 1e-3 * rpm * 6;
  }

  std::string Why(double late_deg) const {
    std::string text;
    if (m_.bench.engine.cycle_deg() > 360 && IsWholeTurn(late_deg)) {
      text += m_.outputs.coils_once_a_cycle
                  ? ": a whole turn of the crank"
                  : ": a whole turn of the crank, or the cam is half a turn off";
    }
    if (std::abs(late_deg - MeanWidthDeg()) <= kInjectionDeg)
      text += ": they begin there; its angle may be meant for the begin";
    const auto& coils_deg = m_.outputs.coils_late_deg;
    if (m_.outputs.advance_known && coils_deg &&
        std::abs(WrapSignedDeg(late_deg - *coils_deg, 720)) <= kInjectionDeg)
      text += ": as the coils fire";
    if (m_.outputs.injectors_as_exchanged) text += "; or the two are exchanged";
    return text;
  }

  const Measured& m_;
  std::vector<Finding> out_;
};

}  // namespace

std::vector<Finding> OutputFindings(const Measured& measured) {
  return OutputSentences(measured).All();
}

std::string InjectorsOff(const Measured& measured) {
  return OutputSentences(measured).InjectorsOff();
}

}  // namespace drycrank::capture
