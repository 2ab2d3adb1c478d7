// SPDX-License-Identifier: Apache-2.0
//
// Kinds as the alternatives of a variant: each has its word of the YAML file in `kWord`. The words
// and an alternative by its number come from the variant itself, so that a kind stands in no list.
#ifndef DRYCRANK_PROFILE_KINDS_H_
#define DRYCRANK_PROFILE_KINDS_H_

#include <array>
#include <cassert>
#include <cstddef>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace drycrank::profile {

// The words of all kinds, in their order.
template <class Kinds>
inline constexpr auto kWordsOf = []<std::size_t... I>(std::index_sequence<I...>) {
  return std::array<std::string_view, sizeof...(I)>{std::variant_alternative_t<I, Kinds>::kWord...};
}
(std::make_index_sequence<std::variant_size_v<Kinds>>{});

template <class Kinds>
std::vector<std::string> WordsOf() {
  return {kWordsOf<Kinds>.begin(), kWordsOf<Kinds>.end()};
}

// Kind number `index`, with its defaults. REQUIRES: 0 <= index < number of kinds
template <class Kinds>
Kinds KindAt(int index) {
  assert(index >= 0 && index < static_cast<int>(std::variant_size_v<Kinds>));
  Kinds kind;
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    ((static_cast<int>(I) == index ? void(kind.template emplace<I>()) : void()), ...);
  }
  (std::make_index_sequence<std::variant_size_v<Kinds>>{});
  return kind;
}

template <class Kinds>
const char* WordOf(const Kinds& kinds) {
  return std::visit([](const auto& kind) { return kind.kWord; }, kinds);
}

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KINDS_H_
