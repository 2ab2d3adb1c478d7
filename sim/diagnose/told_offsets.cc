// SPDX-License-Identifier: Apache-2.0
#include "diagnose/told_offsets.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "standin/pattern.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kSameDeg = 1, kWidthDeg = 1;
constexpr std::size_t kMost = 12;

// Of the first cam where it is told of the primary.
const profile::TriggerChannel* CamOf(const profile::Controller& controller, int channel) {
  const std::vector<int>& cams = controller.decoder.cams;
  if (std::ranges::count(cams, channel) > 0) return &Nth(controller.triggers, channel);
  const int phase = profile::PhaseCam(controller);
  if (channel != controller.decoder.primary || phase < 0) return nullptr;
  return &Nth(controller.triggers, phase);
}

// What an edge may be taken for another by; 0 first.
std::vector<double> Mistakes(const profile::TriggerChannel& cam, double cycle_deg) {
  std::vector<double> mistakes = {0};
  const std::vector<double> edges = standin::ActiveEdgesDeg(cam, cycle_deg);
  for (const double a : edges) {
    for (const double b : edges) {
      if (a != b) mistakes.push_back(WrapSignedDeg(a - b, cycle_deg));
    }
  }
  std::ranges::stable_sort(mistakes, {}, [](double deg) { return std::abs(deg); });
  return mistakes;
}

class Offsets {
 public:
  Offsets(const Predictor& predictor, const Hypothesis& hypothesis)
      : controller_(*predictor.bench().controller),
        hypothesis_(hypothesis),
        channel_(profile::IndexOf(controller_.triggers, hypothesis.faults[0].at)),
        cam_(CamOf(controller_, channel_)) {}

  const profile::TriggerChannel* cam() const { return cam_; }
  void Add(double later_deg) {
    const double sign = channel_ == controller_.decoder.primary ? -1 : 1;
    for (const double mistake : mistakes()) {
      const double told = Nth(controller_.triggers, channel_).offset_deg +
                          sign * WrapSignedDeg(later_deg + mistake, cycle_deg());
      const bool known = std::ranges::any_of(
          found_, [&](double other) { return std::abs(other - told) < kSameDeg; });
      if (known || told < hypothesis_.low || told > hypothesis_.high) continue;
      if (found_.size() < kMost) found_.push_back(told);
    }
  }
  std::vector<double> found() const { return found_; }

 private:
  double cycle_deg() const { return controller_.decoder.strokes == 2 ? 360 : 720; }
  const std::vector<double>& mistakes() {
    if (mistakes_.empty()) mistakes_ = Mistakes(*cam_, cycle_deg());
    return mistakes_;
  }

  const profile::Controller& controller_;
  const Hypothesis& hypothesis_;
  int channel_;
  const profile::TriggerChannel* cam_;
  std::vector<double> mistakes_, found_;
};

}  // namespace

std::vector<double> ToldOffsetsOf(const Predictor& predictor, const Facts& facts,
                                  const ValueRows& healthy, const Hypothesis& hypothesis) {
  Offsets offsets(predictor, hypothesis);
  if (offsets.cam() == nullptr) return {};
  const std::string name = "cam_angle." + offsets.cam()->name;
  for (const Fact& fact : facts.all()) {
    if (facts.NameOf(fact.value) != name || std::isnan(fact.seen)) continue;
    const Prediction right = facts.At(healthy, fact);
    if (!right.is_value()) continue;
    const double later = fact.seen - right.low();
    if (std::abs(later) > kSameDeg) offsets.Add(later);
  }
  return offsets.found();
}

double LogAreaOfOffset(const Hypothesis& hypothesis) {
  return std::log(kWidthDeg / (hypothesis.high - hypothesis.low));
}

}  // namespace drycrank::diagnose
