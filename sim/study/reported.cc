// SPDX-License-Identifier: Apache-2.0
#include "study/reported.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

#include "bus/layout.h"

namespace drycrank::study {
namespace {

constexpr TimeNs kBandNs = 100 * kNsPerMs;
constexpr double kPeriods = 3;
constexpr TimeNs kLeastAgeNs = 500 * kNsPerMs;
constexpr std::size_t kAround = 3;  // bands before and after
constexpr std::size_t kLasts = 5;   // bands
constexpr double kInf = std::numeric_limits<double>::infinity();
constexpr Band kNothingYet{kInf, -kInf, true};

const profile::Message& MessageOf(const profile::Bench& bench, const profile::SignalRef& ref) {
  return profile::MessageAt(bench, {ref.bus, ref.message});
}

Reported::Role RoleOf(const diagnose::Reading& reading) {
  if (reading.carries == "sync_state") return Reported::Role::kSync;
  if (reading.carries == "sync_reason" || reading.carries.ends_with(".fault")) {
    return Reported::Role::kFault;
  }
  if (reading.carries.ends_with(".state")) return Reported::Role::kWarning;
  return reading.discrete ? Reported::Role::kState : Reported::Role::kValue;
}

// Counts of troubles: a diagnosis leaves them out, a campaign does not.
std::vector<Reported::Watched> CountsOf(const profile::Bench& bench) {
  std::vector<Reported::Watched> counts;
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto& messages = bench.buses[b].messages;
    for (std::size_t m = 0; m < messages.size(); ++m) {
      if (messages[m].sender != profile::Sender::kController) continue;
      for (std::size_t s = 0; s < messages[m].signals.size(); ++s) {
        const profile::Signal& signal = messages[m].signals[s];
        if (signal.carries != "sensor_faults" && signal.carries != "sync_losses") continue;
        Reported::Watched count;
        count.reading.signal = {static_cast<int>(b), static_cast<int>(m), static_cast<int>(s)};
        count.reading.name = messages[m].name + "." + signal.name;
        count.reading.carries = signal.carries;
        count.reading.discrete = true;
        count.role = Reported::Role::kFault;
        counts.push_back(std::move(count));
      }
    }
  }
  return counts;
}

}  // namespace

Reported::Reported(const profile::Bench& bench, const profile::Scenario& scenario) {
  for (diagnose::Reading& reading : diagnose::ReadingsOf(bench)) {
    const Role role = RoleOf(reading);
    watched_.push_back({std::move(reading), role, 0});
  }
  for (Watched& count : CountsOf(bench)) watched_.push_back(std::move(count));
  for (std::size_t i = 0; i < watched_.size(); ++i) {
    const profile::SignalRef& ref = watched_[i].reading.signal;
    const profile::Message& message = MessageOf(bench, ref);
    watched_[i].period_ms = message.period_ms;
    most_ns_.push_back(message.period_ms == 0
                           ? kNever
                           : std::max(kLeastAgeNs, FromMs(kPeriods * message.period_ms)));
    auto heard = std::ranges::find(heard_, &message, &Heard::message);
    if (heard == heard_.end()) heard = heard_.insert(heard, {ref.bus, &message, {}});
    heard->values.push_back(i);
  }
  bands_.resize(watched_.size());
  open_.assign(watched_.size(), kNothingYet);
  last_.assign(watched_.size(), 0);
  last_ns_.assign(watched_.size(), -1);
  watching_.assign(watched_.size(), true);
  begins_.reserve(scenario.steps.size() + 1);
}

void Reported::Again(std::vector<bool> anew) {
  watching_ = std::move(anew);
  for (std::size_t i = 0; i < watched_.size(); ++i) {
    if (watching_[i]) bands_[i].clear();
  }
  std::fill(open_.begin(), open_.end(), kNothingYet);
  std::fill(last_ns_.begin(), last_ns_.end(), -1);
  begins_.clear();
  band_count_ = 0;
}

void Reported::CloseBands(TimeNs t_ns) {
  for (; on_ && band_end_ns_ <= t_ns; band_end_ns_ += kBandNs, ++band_count_) {
    for (std::size_t i = 0; i < watched_.size(); ++i) {
      if (!watching_[i]) continue;
      Band band = open_[i];
      const TimeNs age_ns = band_end_ns_ - last_ns_[i];
      if (band.missing && last_ns_[i] >= 0 && age_ns <= most_ns_[i]) {
        band = {last_[i], last_[i], false};
      }
      bands_[i].push_back(band);
      open_[i] = kNothingYet;
    }
  }
}

void Reported::OnFrame(const bus::TimedFrame& frame) {
  CloseBands(frame.t_ns);
  for (const Heard& heard : heard_) {
    if (heard.bus != frame.bus || !bus::Matches(*heard.message, frame.frame)) continue;
    for (const std::size_t i : heard.values) {
      if (!watching_[i]) continue;
      const auto value =
          bus::Decode(*heard.message, watched_[i].reading.signal.signal, frame.frame);
      if (!value) continue;
      last_[i] = *value;
      last_ns_[i] = frame.t_ns;
      open_[i] = {std::min(open_[i].low, *value), std::max(open_[i].high, *value), false};
    }
  }
}

// The rest of a step at its end does not fill a band, and is dropped.
void Reported::EndStep(TimeNs t_ns) {
  CloseBands(t_ns);
  std::fill(open_.begin(), open_.end(), kNothingYet);
}

void Reported::OnStep(std::size_t /*step*/, TimeNs t_ns) {
  EndStep(t_ns);
  begins_.push_back(band_count_);
  band_end_ns_ = t_ns + kBandNs;
  on_ = true;
}

void Reported::OnFinish(TimeNs t_ns) {
  EndStep(t_ns);
  begins_.push_back(band_count_);
  on_ = false;
}

namespace {

// One value of two runs.
class Comparison {
 public:
  Comparison(const Reported& healthy, const Reported& other, std::size_t value)
      : healthy_(healthy), other_(other), value_(value) {}

  struct Worst {
    double deviation = 0;  // least of half a second, signed
    double healthy = 0, other = 0;
    bool missing = false;
    std::size_t step = 0;
    bool any() const { return missing || deviation != 0; }
  };

  // `counts`: whether a deviation is one (more is worse, less is worse).
  template <class Counts>
  Worst Find(Counts counts) const {
    Worst worst;
    const std::size_t steps =
        std::min(healthy_.step_begins().size(), other_.step_begins().size()) - 1;
    for (std::size_t s = 0; s < steps; ++s) {
      const std::size_t bands = std::min(Length(healthy_, s), Length(other_, s));
      std::vector<Worst> moments;
      for (std::size_t i = 0; i < bands; ++i) moments.push_back(At(s, i));
      for (std::size_t i = 0; i + kLasts <= bands; ++i) {
        const Worst least = Least({moments.data() + i, kLasts});
        if (!least.any() || !(least.missing || counts(least.deviation))) continue;
        const bool more = std::abs(least.deviation) > std::abs(worst.deviation);
        if (worst.missing || (!least.missing && !more)) continue;
        worst = least;
      }
    }
    return worst;
  }

 private:
  static std::size_t Length(const Reported& run, std::size_t step) {
    return run.step_begins()[step + 1] - run.step_begins()[step];
  }

  static Worst Least(std::span<const Worst> moments) {
    Worst least = moments[0];
    for (const Worst& m : moments) {
      if (!m.any()) return {};
      if (m.missing) continue;
      if (least.missing || std::abs(m.deviation) < std::abs(least.deviation)) least = m;
    }
    return least;
  }

  Worst At(std::size_t step, std::size_t i) const {
    const auto& healthy = healthy_.bands(value_);
    const std::size_t at = healthy_.step_begins()[step] + i;
    const std::size_t first = at < kAround ? 0 : at - kAround;
    const std::size_t end = std::min(at + kAround + 1, healthy.size());
    Band band = kNothingYet;
    band.missing = false;
    for (std::size_t k = first; k < end; ++k) {
      if (healthy[k].missing) return {};  // not always there when healthy: nothing to compare with
      band.low = std::min(band.low, healthy[k].low);
      band.high = std::max(band.high, healthy[k].high);
    }
    const Band& other = other_.bands(value_)[other_.step_begins()[step] + i];
    Worst worst;
    worst.step = step;
    worst.missing = other.missing;
    if (other.missing) return worst;
    const double above = std::max(0.0, other.high - band.high);
    const double below = std::max(0.0, band.low - other.low);
    const bool is_above = above >= below;
    worst.deviation = is_above ? above : -below;
    worst.healthy = is_above ? band.high : band.low;
    worst.other = is_above ? other.high : other.low;
    return worst;
  }

  const Reported& healthy_;
  const Reported& other_;
  std::size_t value_;
};

report::Effect EffectOf(const Reported::Watched& watched, const Comparison::Worst& worst,
                        const profile::Scenario& scenario) {
  report::Effect effect;
  effect.value = watched.reading.name;
  effect.unit = watched.reading.unit;
  effect.situation = scenario.steps[worst.step].name;
  effect.missing = worst.missing;
  effect.deviation = worst.deviation;
  effect.healthy = worst.healthy;
  effect.faulty = worst.other;
  if (watched.reading.discrete && !worst.missing) {
    effect.says =
        fmt::format("says {}, should be {}", diagnose::InWords(watched.reading, worst.other),
                    diagnose::InWords(watched.reading, worst.healthy));
  }
  // A state is another one or not: no matter of size, so it comes after what can be measured.
  const double measured = std::abs(worst.deviation) / watched.reading.sigma;
  effect.times_sigma = worst.missing              ? report::kMissingSigmas
                       : watched.reading.discrete ? report::kLeastEffect
                                                  : measured;
  return effect;
}

}  // namespace

Differences Compare(const profile::Scenario& scenario, const Reported& healthy,
                    const Reported& other) {
  Differences out;
  for (std::size_t i = 0; i < healthy.watched().size(); ++i) {
    if (healthy.bands(i) == other.bands(i) && healthy.step_begins() == other.step_begins())
      continue;
    const Reported::Watched& watched = healthy.watched()[i];
    const Comparison comparison(healthy, other, i);
    const auto says = [&](const Comparison::Worst& worst) {
      return fmt::format("{} says {}, not {}, in {}", watched.reading.name,
                         diagnose::InWords(watched.reading, worst.other),
                         diagnose::InWords(watched.reading, worst.healthy),
                         scenario.steps[worst.step].name);
    };
    using Role = Reported::Role;
    const Role role = watched.role;
    const bool speaks = role == Role::kFault || role == Role::kSync || role == Role::kWarning;
    const Comparison::Worst worse =
        !speaks ? Comparison::Worst() : comparison.Find([&](double deviation) {
          return role == Role::kSync ? deviation < 0 : deviation > 0;
        });
    if (worse.any() && !worse.missing) {
      (role == Role::kWarning ? out.display : out.controller).push_back(says(worse));
      continue;
    }
    const Comparison::Worst any = comparison.Find([&](double deviation) {
      // A controller that complains less than when healthy is no effect on a value.
      return role == Role::kValue || role == Role::kState ||
             (role == Role::kWarning && deviation < 0);
    });
    if (!any.any()) continue;
    const report::Effect effect = EffectOf(watched, any, scenario);
    if (effect.times_sigma >= report::kLeastEffect) out.effects.push_back(effect);
  }
  return out;
}

}  // namespace drycrank::study
