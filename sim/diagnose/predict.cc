// SPDX-License-Identifier: Apache-2.0
#include "diagnose/predict.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "diagnose/channels.h"
#include "diagnose/electrical.h"
#include "diagnose/slow_cam.h"
#include "diagnose/told_suspects.h"
#include "diagnose/unheard.h"
#include "profile/triggers.h"
#include "standin/controller.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

using profile::Fault;

bool ConcernsBus(const Fault& fault) {
  return fault.Is<profile::fault::Layout>() || fault.Is<profile::fault::MessageMissing>();
}

bool ConcernsWheels(const profile::Bench& bench, const Fault& fault) {
  if (fault.Is<profile::fault::Told>()) {
    return profile::IndexOf(bench.controller->triggers, fault.at) >= 0;
  }
  // Where it is at rest, a slow phaser is where it should be; else only a band is known.
  if (fault.Is<profile::fault::CamSlow>()) return false;
  return profile::IndexOf(bench.triggers, fault.at) >= 0 ||
         fault.Is<profile::fault::SensorOffset>() ||  // a pulse sensor may reach a trigger input
         fault.Is<profile::fault::SensorStuck>();
}

// A display as these faults' layouts make it, for as long as this lives.
class WrongLayouts {
 public:
  WrongLayouts(standin::Display* display, std::span<const Fault> faults)
      : display_(display), faults_(faults) {
    Set(true);
  }
  ~WrongLayouts() { Set(false); }
  WrongLayouts(const WrongLayouts&) = delete;
  WrongLayouts& operator=(const WrongLayouts&) = delete;

 private:
  void Set(bool in_force) {
    if (display_ == nullptr) return;
    for (const Fault& fault : faults_) {
      const auto* layout = fault.As<profile::fault::Layout>();
      if (layout) display_->SetLayout(fault.at, *layout, in_force);
    }
  }

  standin::Display* display_;
  std::span<const Fault> faults_;
};

}  // namespace

struct Predictor::Impl {
  Impl(const profile::Bench& b, std::vector<Situation> given);
  ~Impl();
  // Values that carry the cam's angle of this trigger.
  std::vector<std::size_t> AnglesOf(const std::string& trigger) const;

  const profile::Bench& bench;
  std::vector<Situation> situations;
  std::vector<Reading> readings;
  HealthyElectrical electrical;
  ChannelModel channels;
  ReportModel reports;
  Unheard unheard;
  std::unique_ptr<standin::Display> display;
  std::vector<double> value_sigmas;      // of what the controller reports
  std::vector<ControllerValues> values;  // of the healthy bench, as is the last
  PredictedRows healthy;
  std::vector<std::unique_ptr<Trial::Impl>> spare;  // of trials that are over
};

Predictor::Predictor(const profile::Bench& bench, std::vector<Situation> situations)
    : impl_(std::make_unique<Impl>(bench, std::move(situations))) {}
Predictor::~Predictor() = default;

const std::vector<Reading>& Predictor::readings() const { return impl_->readings; }
const std::vector<Situation>& Predictor::situations() const { return impl_->situations; }
const PredictedRows& Predictor::healthy() const { return impl_->healthy; }

const HealthyElectrical& Predictor::electrical() const { return impl_->electrical; }
const std::vector<ControllerValues>& Predictor::healthy_values() const { return impl_->values; }
std::size_t Predictor::value_count() const { return impl_->value_sigmas.size(); }
const Unheard& Predictor::unheard() const { return impl_->unheard; }
const profile::Bench& Predictor::bench() const { return impl_->bench; }

PredictedRows Predictor::Predict(std::span<const Fault> faults) {
  PredictedRows rows = impl_->healthy;
  Trial trial(*this, faults);
  for (std::size_t s = 0; s < rows.size(); ++s) {
    for (const Change& change : trial.Changes(s)) {
      Nth(rows[s], change.reading) = change.predicted;
    }
  }
  return rows;
}

Predictions Predictor::PredictAt(const Situation& situation, std::span<const Fault> faults) {
  std::vector<Fault> all(faults.begin(), faults.end());
  impl_->unheard.AddTo(all);
  ElectricalModel model(impl_->bench, impl_->electrical, all);
  const Electrical& at = model.SolveIn(situation);
  const ControllerValues values = impl_->channels.Settle(at, model, situation);
  const WrongLayouts wrong(impl_->display.get(), all);
  return impl_->reports.All(values, situation, all, impl_->display.get());
}

struct Trial::Impl {
  explicit Impl(Predictor::Impl& p) : predictor(p), model(p.bench, p.electrical) {}

  void Begin(std::span<const Fault> these) {
    given.assign(these.begin(), these.end());
    is_put_in = false;
  }

  // The faults that are there in situation `s`.
  const Electrical& SolveIn(std::size_t s) {
    bool same = is_put_in;
    there.resize(given.size());
    for (std::size_t f = 0; f < given.size(); ++f) {
      const bool now = IsThere(given[f], predictor.situations[s]);
      same = same && there[f] == now;
      there[f] = now;
    }
    if (!same) PutIn();
    return model.SolveIn(s);
  }
  static bool IsThere(const Fault& fault, const Situation& situation) {
    return fault.during.empty() || std::ranges::count(fault.during, situation.name) > 0;
  }
  void PutIn() {
    faults.clear();
    on_bus = on_wheels = false;
    for (std::size_t f = 0; f < given.size(); ++f) {
      if (there[f]) faults.push_back(given[f]);
    }
    predictor.unheard.AddTo(faults);
    for (const Fault& fault : faults) {
      on_bus = on_bus || ConcernsBus(fault);
      on_wheels = on_wheels || ConcernsWheels(predictor.bench, fault);
    }
    model.PutIn(faults);
    is_put_in = true;
  }

  void Settle(std::size_t s, const std::vector<bool>* wanted = nullptr, bool alone = false) {
    const Electrical& at = SolveIn(s);
    electrical = &at;
    left_out.assign(predictor.value_sigmas.size(), false);
    values = predictor.channels.Settle(
        at, model, predictor.situations[s],
        {&predictor.electrical.at(s), &predictor.values[s], !on_wheels, wanted, &left_out, alone});
    SlowDown(s);
  }

  const ControllerValues& Fused() {
    if (model.ShortAmperes() > kMostAmperes) values = {};
    return values;
  }

  // A phaser that is still on its way.
  void SlowDown(std::size_t s) {
    for (const Fault& fault : faults) {
      const auto* slow = fault.As<profile::fault::CamSlow>();
      if (slow == nullptr || values.empty()) continue;
      const auto& trigger =
          Nth(predictor.bench.triggers, profile::IndexOf(predictor.bench.triggers, fault.at));
      const AdvanceRange range =
          SlowAdvance(predictor.situations, trigger.advance_stimulus, s, slow->deg_per_s);
      const double sent = Nth(predictor.situations[s].stimuli, trigger.advance_stimulus);
      for (const std::size_t v : predictor.AnglesOf(fault.at)) {
        if (range.IsKnown() || !values[v].is_value()) continue;
        const double at = values[v].low() - sent;
        values.Set(v, Prediction::Band(at + range.low, at + range.high));
      }
    }
  }

  void Find(std::size_t s) {
    changes.clear();
    Settle(s);
    const Situation& situation = predictor.situations[s];
    const Predictions& row = predictor.healthy[s];
    if (!on_bus && !values.empty() && !predictor.values[s].empty()) {
      predictor.reports.Changed(values, predictor.values[s], row, predictor.display.get(), changes);
      return;
    }
    const WrongLayouts wrong(predictor.display.get(), faults);
    Predictions all = predictor.reports.All(values, situation, faults, predictor.display.get());
    if (on_bus) WidenErratic(values, situation, all);
    for (std::size_t r = 0; r < all.size(); ++r) {
      if (!(all[r] == row[r])) changes.push_back({static_cast<int>(r), all[r]});
    }
  }

  // Bytes in the wrong order make of a value's last digit its first: of what moves by much more
  // than its tolerance when the controller's values move by theirs, only the band is known. What
  // the controller itself sends moves as its values do.
  void WidenErratic(const ControllerValues& sent, const Situation& situation, Predictions& all) {
    if (sent.empty() || predictor.display == nullptr) return;
    Predictions band = all;
    for (const double deviations : kDeviations) {
      ControllerValues moved = sent;
      for (std::size_t v = 0; v < moved.size(); ++v) {
        if (!moved[v].is_value()) continue;
        moved.Set(v, Prediction::Value(moved[v].low() + deviations * predictor.value_sigmas[v]));
      }
      const Predictions other = predictor.reports.All(
          moved, situation, faults, predictor.display.get(), ReportModel::Of::kDisplay);
      for (std::size_t r = 0; r < all.size(); ++r) {
        if (all[r].is_none() || other[r].is_none() || all[r].is_restless()) continue;
        band[r] = Prediction::Band(std::min(band[r].low(), other[r].low()),
                                   std::max(band[r].high(), other[r].high()));
      }
    }
    for (std::size_t r = 0; r < all.size(); ++r) {
      if (band[r].is_none() || band[r].is_restless()) continue;
      const Reading& reading = predictor.readings[r];
      const double width = band[r].high() - band[r].low();
      const bool erratic = reading.discrete ? width > 0 : width > 16 * reading.sigma;
      if (erratic) all[r] = band[r];
    }
  }
  static constexpr double kDeviations[] = {-1, -0.7, -0.4, -0.2, 0.2, 0.4, 0.7, 1};

  Predictor::Impl& predictor;
  std::vector<Fault> given;
  std::vector<bool> there;    // of those, in the situation asked last
  std::vector<Fault> faults;  // that are
  ElectricalModel model;
  bool is_put_in = false;
  bool on_bus = false, on_wheels = false;
  std::vector<bool> left_out;
  const Electrical* electrical = nullptr;  // of the situation solved last
  ControllerValues values;                 // there
  std::vector<Change> changes;
};

std::vector<std::size_t> Predictor::Impl::AnglesOf(const std::string& trigger) const {
  const std::vector<std::string> names = standin::ControllerValueNames(*bench.controller);
  std::vector<std::size_t> of;
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    const auto at = std::ranges::find(names, "cam_angle." + channel.name);
    if (at == names.end() || TriggerBehind(bench, channel) != trigger) continue;
    of.push_back(static_cast<std::size_t>(at - names.begin()));
  }
  return of;
}

Predictor::Impl::Impl(const profile::Bench& b, std::vector<Situation> given)
    : bench(b),
      situations(std::move(given)),
      readings(ReadingsOf(b)),
      electrical(b, situations),
      channels(b),
      reports(b, readings),
      unheard(b),
      display(reports.MakeDisplay()) {
  for (const std::string& name : standin::ControllerValueNames(*b.controller)) {
    double sigma = 0;
    for (const Reading& reading : readings) {
      if (reading.carries == name && !reading.discrete) sigma = reading.sigma;
    }
    value_sigmas.push_back(sigma);
  }
  ElectricalModel model(b, electrical, {});
  for (std::size_t s = 0; s < situations.size(); ++s) {
    const Electrical& at = model.SolveIn(s);
    values.push_back(channels.Settle(at, model, situations[s]).Whole());
    healthy.push_back(reports.All(values[s], situations[s], {}, display.get()));
  }
}

Predictor::Impl::~Impl() = default;

Trial::Trial(Predictor& predictor, std::span<const Fault> faults) {
  auto& spare = predictor.impl_->spare;
  if (spare.empty()) spare.push_back(std::make_unique<Impl>(*predictor.impl_));
  impl_ = std::move(spare.back());
  spare.pop_back();
  impl_->Begin(faults);
}
Trial::~Trial() { impl_->predictor.spare.push_back(std::move(impl_)); }

void Trial::BeginWith(std::size_t s) { impl_->SolveIn(s); }

const std::vector<bool>& Trial::left_out() const { return impl_->left_out; }

const Electrical& Trial::electrical() const { return *impl_->electrical; }

const ControllerValues& Trial::Values(std::size_t s, const std::vector<bool>* wanted) {
  impl_->Settle(s, wanted);
  return impl_->Fused();
}

const ControllerValues& Trial::These(std::size_t s, const std::vector<bool>& wanted) {
  impl_->Settle(s, &wanted, true);
  return impl_->Fused();
}

std::span<const Change> Trial::Changes(std::size_t s) {
  impl_->Find(s);
  return impl_->changes;
}

}  // namespace drycrank::diagnose
