// SPDX-License-Identifier: Apache-2.0
#include "output/abilities.h"

#include <array>
#include <utility>

#include "output/core_link.h"
#include "output/held_abilities.h"
#include "output/sound_output.h"

namespace drycrank::output {
namespace {

template <class Kind>
std::span<const Ability> Abilities();
template <>
std::span<const Ability> Abilities<profile::out::Core>() {
  return kCoreAbilities;
}
template <>
std::span<const Ability> Abilities<profile::out::Sound>() {
  return kSoundAbilities;
}
template <>
std::span<const Ability> Abilities<profile::out::Gpio>() {
  return kLineAbilities;
}
template <>
std::span<const Ability> Abilities<profile::out::Dac>() {
  return kDacAbilities;
}
template <>
std::span<const Ability> Abilities<profile::out::Potentiometer>() {
  return kPotentiometerAbilities;
}
template <>
std::span<const Ability> Abilities<profile::out::PowerSupply>() {
  return kSupplyAbilities;
}
template <>
std::span<const Ability> Abilities<profile::out::CanNode>() {
  return kCanNodeAbilities;
}

}  // namespace

KindAbility AbilityOf(const profile::DeviceKind& kind) { return AllKinds()[kind.index()]; }

std::span<const KindAbility> AllKinds() {
  static const auto kAll = []<std::size_t... I>(std::index_sequence<I...>) {
    return std::array{
        KindAbility{std::variant_alternative_t<I, profile::DeviceKind>::kWord,
                    Abilities<std::variant_alternative_t<I, profile::DeviceKind>>()}...};
  }
  (std::make_index_sequence<std::variant_size_v<profile::DeviceKind>>{});
  return kAll;
}

}  // namespace drycrank::output
