// SPDX-License-Identifier: Apache-2.0
//
// fires_at: at each spark (a coil goes off); margin = tolerance - how far it is off its degree, in
//   degrees of the crank as it really turns.
// injects_at: the same at each begin or end of an injection.
// Both fail as well when a cylinder is left out for more than one and a half cycles (margin: less
// the number of times), and when an output is on for too short or too long a time (margin in ms).
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "check/crank.h"
#include "check/evidence.h"
#include "check/judge.h"
#include "check/value_words.h"
#include "types/nth.h"
#include "types/points.h"

namespace drycrank::check {
namespace {

constexpr double kLeftOutCycles = 1.5;
constexpr const char* kTrailingPlug = "trailing plug of cylinder";
constexpr double kAlikeDeg = 1;  // all that are off by the same are off for one reason

// What one of the two kinds requires.
struct Due {
  OutputKind output = OutputKind::kCoil;
  bool at_begin = false;   // judged when it goes on, else when it goes off
  double dead_centre = 0;  // crank degrees from the firing top dead centre to the one meant
  Points before_deg_at_rpm;
  double tolerance_deg = 0;
  int cylinder = 0;  // 0: each
  std::optional<double> least_ms, most_ms;
  const char* who = "cylinder";  // "trailing plug of cylinder"
  const char* acts = "";   // "fired"
  const char* event = "";  // "spark"
  const char* width = "";  // "dwell"
};

class OutputAt : public EventJudge {
 public:
  OutputAt(const Subject& subject, Due due)
      : subject_(subject), due_(std::move(due)), cycle_deg_(FiringCycleDeg(subject.bench)) {
    const profile::Engine& engine = subject.bench.engine;
    for (std::size_t i = 0; i < engine.firing_order.size(); ++i) {
      const int cylinder = engine.firing_order[i];
      if (due_.cylinder != 0 && due_.cylinder != cylinder) continue;
      cylinders_.push_back({.number = cylinder, .firing_deg = engine.firing_angles_deg[i]});
    }
  }

  bool WatchesOutputs() const override { return true; }
  void Open(TimeNs settled_ns) override {
    const auto at = subject_.crank.AngleAt(settled_ns);
    for (Cylinder& cylinder : cylinders_) cylinder.last = at;
  }
  void OnOutput(const OutputEvent& event, bool open) override {
    if (event.kind != due_.output) return;
    const auto found = std::ranges::find(cylinders_, event.cylinder, &Cylinder::number);
    if (found == cylinders_.end()) return;
    if (event.on) found->on_ns = event.t_ns;
    if (!open) return;
    if (!event.on && found->on_ns) JudgeWidth(*found, event.t_ns);
    if (event.on == due_.at_begin) JudgeAngle(*found, event.t_ns);
  }
  void Close(TimeNs end_ns) override {
    const auto at = subject_.crank.AngleAt(end_ns);
    for (Cylinder& cylinder : cylinders_) {
      if (at && cylinder.last) JudgePause(cylinder, at->Minus(*cylinder.last), end_ns);
    }
  }

  Verdict Judgement() const override {
    Verdict verdict =
        VerdictFrom(trace_, fmt::format("{} before top dead centre", due_.event), "deg");
    verdict.allowed = due_.tolerance_deg;
    verdict.detail = Detail();
    if (trace_.count() == 0) return verdict;
    if (left_out_ > 0 && verdict.outcome == Outcome::kMet) {
      verdict.outcome = Outcome::kFailed;
      verdict.margin = -left_out_;
      verdict.margin_unit = due_.event + std::string("s");
      verdict.allowed = 0;
      verdict.worst_ns = left_out_ns_;
    }
    if (width_margin_ms_ < 0 && verdict.outcome == Outcome::kMet) {
      verdict.outcome = Outcome::kFailed;
      verdict.margin = width_margin_ms_;
      verdict.margin_unit = "ms";
      verdict.allowed = 0;
      verdict.worst_ns = width_ns_;
    }
    return verdict;
  }

 private:
  struct Cylinder {
    int number = 0;
    double firing_deg = 0;
    std::optional<TimeNs> on_ns{};
    std::optional<CrankAngle> last{};
  };

  void JudgeAngle(Cylinder& cylinder, TimeNs t_ns) {
    const auto at = subject_.crank.AngleAt(t_ns);
    if (!at) {
      ++unplaced_;
      return;
    }
    if (cylinder.last) JudgePause(cylinder, at->Minus(*cylinder.last), t_ns);
    cylinder.last = at;
    const double due_deg = Interpolate(due_.before_deg_at_rpm, subject_.crank.SpeedRpmAt(t_ns));
    const double dead_centre_deg = cylinder.firing_deg + due_.dead_centre;
    const double late_deg = LateDeg(at->InCycle(cycle_deg_) - (dead_centre_deg - due_deg));
    const double margin = due_.tolerance_deg - std::abs(late_deg);
    if (trace_.count() == 0 || margin < trace_.worst_margin()) worst_cylinder_ = cylinder.number;
    trace_.Add({t_ns, due_deg - late_deg, due_deg, due_.tolerance_deg}, margin);
    least_late_deg_ = std::min(least_late_deg_, late_deg);
    most_late_deg_ = std::max(most_late_deg_, late_deg);
    if (margin < 0) ++outside_;
  }
  // The shortest way round; what is half a cycle off counts as late.
  double LateDeg(double deg) const {
    const double late_deg = WrapSignedDeg(deg, cycle_deg_);
    return late_deg < kAlikeDeg - cycle_deg_ / 2 ? late_deg + cycle_deg_ : late_deg;
  }
  void JudgePause(const Cylinder& cylinder, double turned_deg, TimeNs t_ns) {
    if (turned_deg <= kLeftOutCycles * cycle_deg_) return;
    if (left_out_++ > 0) return;
    left_out_ns_ = t_ns;
    left_out_cylinder_ = cylinder.number;
    left_out_turns_ = turned_deg / 360;
  }
  void JudgeWidth(const Cylinder& cylinder, TimeNs t_ns) {
    const double ms = ToMs(t_ns - *cylinder.on_ns);
    const double least = due_.least_ms ? ms - *due_.least_ms : 1e9;
    const double most = due_.most_ms ? *due_.most_ms - ms : 1e9;
    if (std::min(least, most) >= width_margin_ms_) return;
    width_margin_ms_ = std::min(least, most);
    width_ms_ = ms;
    width_ns_ = t_ns;
    width_cylinder_ = cylinder.number;
  }

  static std::string BeforeWords(double before_deg) {
    return fmt::format("{} {}", NumberText(std::abs(before_deg), 1, "deg"),
                       before_deg < 0 ? "after" : "before");
  }
  static std::string LateWords(double deg) {
    return fmt::format("{} {}", NumberText(std::abs(deg), 1, "deg"), deg < 0 ? "early" : "late");
  }
  std::string WorstWords() const {
    const TracePoint& worst = trace_.worst();
    return fmt::format("{} {} {} {} top dead centre, should be {} ± {}", due_.who, worst_cylinder_,
                       due_.acts, BeforeWords(worst.reported), BeforeWords(worst.wanted),
                       NumberText(worst.tolerance, 1, "deg"));
  }
  // What all of them being off by the same says.
  std::string TogetherWords() const {
    if (outside_ < trace_.count() || most_late_deg_ - least_late_deg_ > kAlikeDeg) return "";
    const double late_deg = (least_late_deg_ + most_late_deg_) / 2;
    if (cycle_deg_ == 720 && std::abs(std::abs(late_deg) - 360) <= due_.tolerance_deg) {
      return "; a whole turn of the crank off: a cam wheel half a turn off, its sensor inverted, "
             "or "
             "its offset told wrong makes that, no open wire";
    }
    return fmt::format(
        "; all {} by the same: the crank wheel, its offset as set in the controller, "
        "or the {} set there, no open wire",
        LateWords(late_deg),
        due_.output == OutputKind::kTrailingCoil ? "advance or trailing split" : "advance");
  }
  std::string Detail() const {
    if (trace_.count() == 0) return NothingSeen();
    std::string text;
    if (outside_ > 0) {
      text = fmt::format("{}: {}; {} of {} {}s outside the tolerance{}", WorstWords(),
                         LateWords(trace_.worst().wanted - trace_.worst().reported), outside_,
                         trace_.count(), due_.event, TogetherWords());
    } else {
      text = fmt::format("of {} {}s at worst {}", trace_.count(), due_.event, WorstWords());
    }
    if (left_out_ > 0) {
      text += fmt::format("; {} {} was left out for {:.1f} turns of the crank up to {:.3f} s{}",
                          due_.who, left_out_cylinder_, left_out_turns_, ToSeconds(left_out_ns_),
                          left_out_ > 1 ? fmt::format(", and {} times more", left_out_ - 1) : "");
    }
    if (width_margin_ms_ < 0) {
      text += fmt::format("; {} of cylinder {} was {:.2f} ms, should be {}", due_.width,
                          width_cylinder_, width_ms_, WidthDue());
    }
    return text;
  }
  std::string WidthDue() const {
    if (!due_.most_ms) return fmt::format("{:.2f} ms or more", *due_.least_ms);
    if (!due_.least_ms) return fmt::format("{:.2f} ms or less", *due_.most_ms);
    return fmt::format("{:.2f} to {:.2f} ms", *due_.least_ms, *due_.most_ms);
  }
  std::string NothingSeen() const {
    if (unplaced_ > 0) return kNoMotionKnown;
    if (left_out_ > 0) {
      return fmt::format("no {} at all was seen while the crank made {:.1f} turns", due_.event,
                         left_out_turns_);
    }
    return fmt::format("no {} was seen while this was judged", due_.event);
  }

  const Subject subject_;
  const Due due_;
  const double cycle_deg_;
  std::vector<Cylinder> cylinders_;
  Trace trace_;
  int worst_cylinder_ = 0;
  double least_late_deg_ = 1e9, most_late_deg_ = -1e9;
  std::uint64_t outside_ = 0, unplaced_ = 0;
  int left_out_ = 0, left_out_cylinder_ = 0;
  double left_out_turns_ = 0;
  TimeNs left_out_ns_ = 0;
  double width_margin_ms_ = 1e9, width_ms_ = 0;
  int width_cylinder_ = 0;
  TimeNs width_ns_ = 0;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::FiresAt& kind) {
  const bool trailing = kind.plug == expect::Plug::kTrailing;
  return std::make_unique<OutputAt>(
      subject, Due{.output = trailing ? OutputKind::kTrailingCoil : OutputKind::kCoil,
                   .at_begin = false,
                   .dead_centre = 0,
                   .before_deg_at_rpm = kind.advance_at_rpm,
                   .tolerance_deg = kind.tolerance_deg,
                   .cylinder = kind.cylinder,
                   .least_ms = kind.dwell_at_least_ms,
                   .most_ms = kind.dwell_at_most_ms,
                   .who = trailing ? kTrailingPlug : "cylinder",
                   .acts = "fired",
                   .event = trailing ? "trailing spark" : "spark",
                   .width = "dwell"});
}

JudgePtr MakeJudge(const Subject& subject, const expect::InjectsAt& kind) {
  const bool at_begin = kind.point == expect::InjectionPoint::kBegin;
  // The intake stroke of a four-stroke begins one turn after the firing top dead centre.
  return std::make_unique<OutputAt>(
      subject, Due{.output = OutputKind::kInjector,
                   .at_begin = at_begin,
                   .dead_centre = subject.bench.engine.strokes == 2 ? 0.0 : 360.0,
                   .before_deg_at_rpm = {{0, kind.before_deg}},
                   .tolerance_deg = kind.tolerance_deg,
                   .cylinder = kind.cylinder,
                   .least_ms = kind.open_at_least_ms,
                   .most_ms = kind.open_at_most_ms,
                   .acts = at_begin ? "began to inject" : "ended its injection",
                   .event = "injection",
                   .width = "injection"});
}

}  // namespace drycrank::check
