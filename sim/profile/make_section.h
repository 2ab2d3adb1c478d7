// SPDX-License-Identifier: Apache-2.0
//
// Tables of keys to parts of a section (sections.h), and the sections by what they are about. What a
// row has no words for, a new struct of its table says: the default. Internal to profile/.
#ifndef DRYCRANK_PROFILE_MAKE_SECTION_H_
#define DRYCRANK_PROFILE_MAKE_SECTION_H_

#include <string>
#include <vector>

#include "profile/sections.h"

namespace drycrank::profile {

std::vector<SectionInfo> DeviceSections();
std::vector<SectionInfo> BusSections();
std::vector<SectionInfo> ControllerSections();
std::vector<SectionInfo> ScenarioSections();

template <class S, std::size_t kSize>
void Add(std::vector<KeyInfo>& keys, const Field<S> (&table)[kSize]) {
  const S usual{};
  for (const Field<S>& field : table) {
    KeyInfo info{field.key, field.value, field.meaning, field.needs, std::string(field.usual)};
    if (info.usual.empty() && info.needs.empty() && field.slot.usual != nullptr) {
      info.usual = field.slot.usual(usual);
      info.is_written = !info.usual.empty();
    }
    keys.push_back(std::move(info));
  }
}

template <class... Tables>
std::vector<KeyInfo> Keys(const Tables&... tables) {
  std::vector<KeyInfo> keys;
  (Add(keys, tables), ...);
  return keys;
}

template <class... Tables>
Part Always(const Tables&... tables) {
  return {.keys = Keys(tables...)};
}

template <class... Tables>
Part WhenIs(std::string_view key, std::string_view word, std::string_view meaning,
            const Tables&... tables) {
  return {Part::When::kKeyIs, key, word, meaning, Keys(tables...)};
}

template <class... Tables>
Part WhenIsOrNone(std::string_view key, std::string_view word, std::string_view meaning,
                  const Tables&... tables) {
  return {Part::When::kKeyIsOrNone, key, word, meaning, Keys(tables...)};
}

template <class... Tables>
Part WhenThere(std::string_view key, std::string_view meaning, const Tables&... tables) {
  return {Part::When::kKeyIsThere, key, {}, meaning, Keys(tables...)};
}

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_MAKE_SECTION_H_
