// SPDX-License-Identifier: Apache-2.0
#include "run/output_range.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>
#include <variant>

#include "output/abilities.h"
#include "output/steps.h"
#include "plant/sources.h"
#include "profile/fault_relay.h"
#include "profile/sensors.h"
#include "run/output_wishes.h"
#include "types/nth.h"

namespace drycrank::run {
namespace {

using output::Form;
using output::Steps;
using output::Wish;

// V at the terminals of a whole supply, of which a share is asked for.
double SupplyOf(const profile::OutputDevice& device, int channel) {
  return std::visit(
      [&](const auto& kind) {
        const auto& at = Nth(kind.channels, channel);
        if constexpr (requires { at.supply_v; })
          return at.supply_v;
        else
          return 1.0;
      },
      device.kind);
}

// What it is asked for, in V or ohm.
Wish::Span SpanOf(const Wish& wish, const output::Output& opened, double supply_v) {
  const output::Ability* ability = output::Meets(opened.abilities(), wish);
  Wish::Span span = *std::ranges::find(wish.forms, ability->form, &Wish::Span::form);
  if (span.form != Form::kFraction) return span;
  span.least *= supply_v;
  span.most *= supply_v;
  return span;
}

// Half a step is as good as there.
bool Reaches(const Steps& steps, const Wish::Span& span) {
  const double half = std::abs(steps.scale) / 2;
  return span.least >= steps.LeastValue() - half && span.most <= steps.MostValue() + half;
}

std::string WhoCould(const std::string_view own, const Wish& wish) {
  std::vector<std::string_view> others = output::KindsThatCould(wish, output::AllKinds());
  std::erase(others, own);
  std::string remedy = "one with a wider range could";
  if (!others.empty()) remedy += fmt::format(", or an output of kind {}", fmt::join(others, " or "));
  return remedy;
}

// The electrical value of the quantity, in V or ohm; beyond what the bench allows it is as at its end.
double ValueAt(const profile::Bench& bench, const profile::Sensor& sensor, double quantity,
               double supply_v) {
  const profile::Stimulus& measured = Nth(bench.stimuli, sensor.stimulus);
  const auto value_of = [&](int stimulus) {
    return stimulus == sensor.stimulus ? std::clamp(quantity, measured.min, measured.max)
                                       : Nth(bench.stimuli, stimulus).initial;
  };
  const Source source = plant::SourceOf(bench, sensor, value_of, {});
  return source.kind == SourceKind::kSupplyFraction ? source.value * supply_v : source.value;
}

std::string Fineness(const profile::Bench& bench, const profile::Scenario& scenario,
                     const profile::Sensor& sensor, const Steps& steps, double supply_v) {
  const profile::Stimulus& measured = Nth(bench.stimuli, sensor.stimulus);
  const auto [from, to] = DrivenBetween(bench, scenario, sensor.stimulus);
  if (from == to) return "";
  const output::GivenBand band = output::BandOf(
      steps, from, to, [&](double q) { return ValueAt(bench, sensor, q, supply_v); });
  return " " + output::Words(band, from, to, measured.unit);
}

// Which of a sound card's outputs it is, and what leaves there at most.
std::string Socket(const profile::OutputDevice& device, int channel) {
  const auto* sound = std::get_if<profile::out::Sound>(&device.kind);
  if (sound == nullptr) return "";
  const profile::out::Sound::Channel& at = Nth(sound->channels, channel);
  return fmt::format(" by output {}, up to {:g} V", at.output, at.most_v);
}

std::string Between(double least, double most, const char* unit) {
  return least == most ? fmt::format("{:.4g} {}", least, unit)
                       : fmt::format("{:.4g} to {:.4g} {}", least, most, unit);
}

// What a channel has while nobody drives it, one for each kind. Nothing: the device says it itself.
std::string ContactWord(profile::out::Contact contact) {
  return contact == profile::out::Contact::kClosed ? "closed" : "open";
}
std::string SafeState(const profile::out::Core::Channel&, const std::optional<Steps>&) { return ""; }
std::string SafeState(const profile::out::Sound::Channel&, const std::optional<Steps>&) { return "silent"; }
std::string SafeState(const profile::out::Gpio::Channel& at, const std::optional<Steps>&) {
  return ContactWord(at.safe);
}
std::string SafeState(const profile::out::Dac::Channel& at, const std::optional<Steps>& steps) {
  if (!at.safe_v && !steps) return "what it gives nearest to 0 V";
  return fmt::format("{:.4g} V", at.safe_v ? *at.safe_v : std::clamp(0.0, steps->LeastValue(), steps->MostValue()));
}
std::string SafeState(const profile::out::Potentiometer::Channel& at, const std::optional<Steps>& steps) {
  if (!at.safe_ohm && !steps) return "the highest that it has";
  return fmt::format("{:.4g} Ω", at.safe_ohm ? *at.safe_ohm : steps->MostValue());
}
std::string SafeState(const profile::out::PowerSupply::Channel&, const std::optional<Steps>&) { return "off"; }
std::string SafeState(const profile::out::CanNode::Channel& at, const std::optional<Steps>&) {
  if (profile::IsFaultRelay(at)) return "no fault";
  return at.analogue ? fmt::format("{:.4g} V", at.safe_v) : ContactWord(at.safe);
}

// What it can give, or will; a supply's limit is part of it.
std::string Gives(const profile::OutputDevice& device, int channel, const std::optional<Steps>& steps,
                  const Wish& wish) {
  if (const auto* supply = std::get_if<profile::out::PowerSupply>(&device.kind)) {
    const Wish::Span& span = wish.forms.front();
    return fmt::format("{}, {:.4g} A at most", Between(span.least, span.most, "V"),
                       Nth(supply->channels, channel).limit_a);
  }
  if (!steps) return "";
  const bool is_ohm = std::holds_alternative<profile::out::Potentiometer>(device.kind);
  return "it gives " + Between(steps->LeastValue(), steps->MostValue(), is_ohm ? "Ω" : "V");
}

// " (it gives 0 to 10 V; safe: 0 V)"
std::string Bounds(const profile::OutputDevice& device, int channel, const std::optional<Steps>& steps,
                   const Wish& wish) {
  const std::string gives = Gives(device, channel, steps, wish);
  const std::string safe = std::visit(
      [&](const auto& kind) { return SafeState(Nth(kind.channels, channel), steps); }, device.kind);
  if (safe.empty()) return "";
  return fmt::format(" ({}{}safe: {})", gives, gives.empty() ? "" : "; ", safe);
}

}  // namespace

Diagnostics RangeProblems(const profile::Bench& bench, const profile::Scenario& scenario,
                          const profile::OutputDevice& device, const output::Output& opened) {
  Diagnostics problems;
  const std::vector<Wish> wishes = WishesOf(bench, scenario, device);
  const std::string_view kind = output::AbilityOf(device.kind).kind;
  for (int i = 0; i < static_cast<int>(wishes.size()); ++i) {
    const std::optional<Steps> steps = opened.StepsOf(i);
    if (!steps) continue;
    const Wish& wish = Nth(wishes, i);
    const Wish::Span span = SpanOf(wish, opened, SupplyOf(device, i));
    if (Reaches(*steps, span)) continue;
    const char* unit = span.form == Form::kResistance ? "Ω" : "V";
    problems.push_back({wish.place,
                        fmt::format("{}: {:.4g} to {:.4g} {} will be asked for, and this {} gives "
                                    "{:.4g} to {:.4g} {}",
                                    wish.of, span.least, span.most, unit, kind,
                                    steps->LeastValue(), steps->MostValue(), unit),
                        WhoCould(kind, wish)});
  }
  return problems;
}

std::vector<std::string> ChannelsInWords(const profile::Bench& bench,
                                         const profile::Scenario& scenario,
                                         const profile::OutputDevice& device,
                                         const output::Output& opened) {
  std::vector<std::string> words;
  const std::vector<Wish> wishes = WishesOf(bench, scenario, device);
  int at = 0;
  for (const profile::OutputChannel* channel : ChannelsOf(device)) {
    words.push_back(InWords(*channel) + Socket(device, at));
    const std::optional<Steps> steps = opened.StepsOf(at);
    if (steps && channel->of == profile::OutputChannel::Of::kSensor) {
      words.back() += Fineness(bench, scenario, Nth(bench.sensors, channel->index), *steps,
                               SupplyOf(device, at));
    }
    words.back() += Bounds(device, at, steps, Nth(wishes, at));
    ++at;
  }
  return words;
}

}  // namespace drycrank::run
