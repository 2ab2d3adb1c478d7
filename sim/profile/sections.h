// SPDX-License-Identifier: Apache-2.0
//
// All sections of bench and scenario files with their keys, as the tables say (key.h), the structs'
// defaults filled in: what schema, page and `drycrank explain` are made of.
#ifndef DRYCRANK_PROFILE_SECTIONS_H_
#define DRYCRANK_PROFILE_SECTIONS_H_

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "profile/key.h"

namespace drycrank::profile {

struct KeyInfo {
  std::string_view key;
  Value value;
  std::string_view meaning;
  std::string_view needs;   // empty: may be left out
  std::string usual;        // the default, as it would be written, or in words
  bool is_written = false;  // `usual` is as it would be written
};

// Keys that a section always has, or has when ...
struct Part {
  enum class When {
    kAlways,
    kKeyIs,        // `key` is `word`
    kKeyIsOrNone,  // ... or left out
    kKeyIsSignal,  // `key` is a message.signal
    kKeyIsThere,
  };
  When when = When::kAlways;
  std::string_view key = {}, word = {};
  std::string_view meaning = {};  // of the word, or of the key that is there
  std::vector<KeyInfo> keys = {};
  std::string_view kind = {};  // and `kind` is this; empty: whatever it is
};

struct SectionInfo {
  std::string_view name;   // "gauge"
  std::string_view where;  // "a gauge of the display"
  std::string_view meaning;
  std::vector<Part> parts;
};

// In the order in which a reader meets them: those of a bench, then those of a scenario.
const std::vector<SectionInfo>& Sections();

// REQUIRES: there is such a section.
const SectionInfo& SectionNamed(std::string_view name);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_SECTIONS_H_
