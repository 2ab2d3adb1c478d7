// SPDX-License-Identifier: Apache-2.0
#include "output/ability.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace drycrank::output {
namespace {

const char* UnitOf(Form form) {
  switch (form) {
    case Form::kWheel:
      return " r/min";
    case Form::kEmf:
    case Form::kVoltage:
    case Form::kSupply:
      return " V";
    case Form::kResistance:
      return " Ω";
    case Form::kPulses:
      return " Hz";
    case Form::kSwitch:
    case Form::kFraction:
      break;
  }
  return "";
}

const Wish::Span* SpanOf(const Wish& wish, Form form) {
  const auto at = std::ranges::find(wish.forms, form, &Wish::Span::form);
  return at != wish.forms.end() ? &*at : nullptr;
}

// What is wrong with it; `why` is called for each thing.
template <class Why>
void Compare(std::span<const Ability> abilities, const Wish& wish, const Why& why) {
  const Ability* ability = Meets(abilities, wish);
  if (ability == nullptr) {
    std::vector<const char*> forms;
    for (const Wish::Span& span : wish.forms) forms.push_back(InWords(span.form));
    std::vector<const char*> own;
    for (const Ability& has : abilities) own.push_back(InWords(has.form));
    why(wish.place, fmt::format("{} (it gives {})", fmt::join(forms, " or "), fmt::join(own, ", ")));
    return;
  }
  const Wish::Span& span = *SpanOf(wish, ability->form);
  const char* unit = UnitOf(span.form);
  if (span.least < ability->least || span.most > ability->most) {
    why(wish.place, fmt::format("{:g} to {:g}{} (it gives {:g} to {:g}{})", span.least, span.most,
                                unit, ability->least, ability->most, unit));
  }
  if (ability->rate_hz > 0 && span.rate_hz > ability->rate_hz) {
    why(wish.place, fmt::format("{:g} changes a second (it makes {:g})", span.rate_hz,
                                ability->rate_hz));
  }
  if (ability->most_slope > 0 && span.slope > ability->most_slope) {
    why(span.slope_at.line > 0 ? span.slope_at : wish.place,
        fmt::format("{:.0f}{} in a second (it makes {:.0f}{})", span.slope, unit, ability->most_slope,
                    span.climb > 0 ? fmt::format(", which is {:.3g} s or more for these {:.0f}{}",
                                                 span.climb / ability->most_slope, span.climb, unit)
                                   : ""));
  }
  if (ability->form == Form::kWheel && wish.teeth > ability->most_teeth) {
    why(wish.place, fmt::format("{} teeth (it has {})", wish.teeth, ability->most_teeth));
  }
  for (const Wish::Need& need : wish.needs) {
    if (!ability->traits.Has(need.trait)) why(need.place, InWords(need.trait));
  }
}

bool Could(const KindAbility& kind, const Wish& wish) {
  bool could = true;
  Compare(kind.abilities, wish, [&](const Place&, const std::string&) { could = false; });
  return could;
}

std::string Remedy(const Wish& wish, std::span<const KindAbility> all) {
  const std::vector<std::string_view> kinds = KindsThatCould(wish, all);
  if (kinds.empty() && wish.needs.empty()) return fmt::format("take {} out of 'drives'", wish.of);
  if (kinds.empty()) {
    return fmt::format("no kind of output gives all of it: take it out of the scenario, or {} out of "
                       "'drives'",
                       wish.of);
  }
  return fmt::format("an output of kind {} could", fmt::join(kinds, " or "));
}

}  // namespace

const char* InWords(Form form) {
  switch (form) {
    case Form::kWheel:
      return "edges of a wheel";
    case Form::kEmf:
      return "the voltage of a coil";
    case Form::kSwitch:
      return "a switching output";
    case Form::kFraction:
      return "a share of the supply";
    case Form::kVoltage:
      return "a voltage";
    case Form::kResistance:
      return "a resistance";
    case Form::kPulses:
      return "pulses";
    case Form::kSupply:
      break;
  }
  return "a supply";
}

const char* InWords(Trait trait) {
  switch (trait) {
    case Trait::kRamp:
      return "a speed that is climbed to";
    case Trait::kSine:
      return "a speed that goes as a sine";
    case Trait::kRipple:
      return "compression ripple";
    case Trait::kSwingBack:
      return "a crank that swings back at a stop";
    case Trait::kAdvance:
      return "a cam that is turned while it runs";
    case Trait::kSilent:
      return "a pickup without edges";
    case Trait::kHeld:
      return "a pickup whose output stays on or off";
    case Trait::kTeethGone:
      return "teeth broken off";
    case Trait::kTeethAdded:
      return "an extra tooth";
    case Trait::kLate:
      return "a wheel that sits elsewhere";
    case Trait::kRunout:
      return "a wheel off its centre";
    case Trait::kInverted:
      return "a pickup the other way round";
    case Trait::kStrength:
      return "a coil of another strength";
    case Trait::kNoise:
      return "electrical noise";
    case Trait::kUnplugged:
      break;
  }
  return "a sensor that is not there";
}

const Ability* Meets(std::span<const Ability> abilities, const Wish& wish) {
  for (const Wish::Span& span : wish.forms) {
    const auto at = std::ranges::find(abilities, span.form, &Ability::form);
    if (at != abilities.end()) return &*at;
  }
  return nullptr;
}

std::vector<std::string_view> KindsThatCould(const Wish& wish, std::span<const KindAbility> all) {
  std::vector<std::string_view> kinds;
  for (const KindAbility& kind : all) {
    if (Could(kind, wish)) kinds.push_back(kind.kind);
  }
  return kinds;
}

Diagnostics WhyNot(const KindAbility& kind, const Wish& wish, std::span<const KindAbility> all) {
  Diagnostics problems;
  Compare(kind.abilities, wish, [&](const Place& place, const std::string& what) {
    problems.push_back({place,
                        fmt::format("{}: an output of kind {} does not give {}", wish.of, kind.kind,
                                    what),
                        Remedy(wish, all)});
  });
  return problems;
}

}  // namespace drycrank::output
