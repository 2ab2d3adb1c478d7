// SPDX-License-Identifier: Apache-2.0
//
// What may stand in a section of a bench or scenario file: one table for each section, one row for
// each key. Of the tables (keys_*.h) are made: the loader (table_reader.h), the JSON Schemas
// (schema.h), the page hw-notes/keys.md (key_page.h) and `drycrank explain`. A row:
//
//   {"stale_ms", To<&Gauge::stale_ms>, Number("ms", 1, 3.6e6), "After so long ..."},
//     key        where it goes             what may be written      what it is, for a fitter
//
// and where it is needed, what to write ("unit: degC"); else the default is the member's own, or is
// said in words. A row without a place to go ({}) is read by a function of the section, which also
// has the checks of keys against each other.
#ifndef DRYCRANK_PROFILE_KEY_H_
#define DRYCRANK_PROFILE_KEY_H_

#include <fmt/format.h>

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>

#include "types/points.h"
#include "yaml/reader.h"

namespace drycrank::profile {

struct BenchContext;

enum class ValueKind {
  kNumber,    // in `range`, which may be "of the stimulus": in the unit of something else
  kWhole,     // low to high; with `words`, one of them
  kTruth,     // true, false
  kText,      // of any kind
  kName,      // letters, digits, _
  kPlug,      // as kName, and -; also a number
  kUnit,      // a unit by name
  kWord,      // one of `words`
  kTerminal,  // CONNECTOR.PIN
  kSignal,    // message.signal
  kPoints,    // [[x, y], ...]: x in `range`, y in `y`
  kPair,      // [begin, end], both in `range`
  kScalar,    // a number or a word
  kSignals,   // {SIGNAL: STIMULUS}, or nothing
  kSection,   // the keys of section `of`
};

struct Value {
  ValueKind kind = ValueKind::kText;
  yaml::Range range = {}, y = {};
  std::int64_t low = 0, high = 0;
  std::span<const std::string_view> words = {};
  std::string_view of = {};  // kSection: which; a name: of what
  // {name: ..., name: ...}, names as of connectors, or raw values: {0: ..., 1: ...}.
  enum class Shape { kOne, kList, kNamed, kPlugs, kNumbered } shape = Shape::kOne;
  int least = 0;                 // entries of a list
  const Value* other = nullptr;  // or this: in its place, or in that of each of a list or of names

  constexpr Value List(int at_least = 0) const {
    Value list = *this;
    list.shape = Shape::kList;
    list.least = at_least;
    return list;
  }
  constexpr Value Named(Shape names = Shape::kNamed) const {
    Value named = *this;
    named.shape = names;
    return named;
  }
  constexpr Value Or(const Value& second) const {
    Value either = *this;
    either.other = &second;
    return either;
  }
};

constexpr double kAny = 1e12;  // the limit of a number that has none of its own
constexpr std::int64_t kMaxId11 = 0x7FF, kMaxId29 = 0x1FFFFFFF;  // of a CAN frame
constexpr double kMaxRunS = 86400;                               // 24 h

constexpr Value Number(std::string_view unit = "", double min = -kAny, double max = kAny) {
  return {ValueKind::kNumber, {unit, min, max}};
}
constexpr Value Difference(std::string_view unit, double min = -kAny, double max = kAny) {
  return {ValueKind::kNumber, {unit, min, max, true}};
}
constexpr Value Whole(std::int64_t low, std::int64_t high) {
  return {.kind = ValueKind::kWhole, .low = low, .high = high};
}
constexpr Value PointsOf(const yaml::Range& x, const yaml::Range& y) {
  return {ValueKind::kPoints, x, y};
}
constexpr Value PairOf(std::string_view unit, double min, double max) {
  return {ValueKind::kPair, {unit, min, max}};
}
constexpr Value NameOf(std::string_view what) { return {.kind = ValueKind::kName, .of = what}; }
constexpr Value Section(std::string_view name) { return {.kind = ValueKind::kSection, .of = name}; }
inline constexpr Value kTruth{ValueKind::kTruth}, kText{ValueKind::kText}, kUnit{ValueKind::kUnit},
    kPlug{ValueKind::kPlug}, kTerminal{ValueKind::kTerminal}, kSignal{ValueKind::kSignal},
    kScalar{ValueKind::kScalar}, kSignals{ValueKind::kSignals};

// A unit that is somebody else's, and known only with him.
constexpr bool IsBorrowed(std::string_view unit) { return unit.starts_with("of "); }

// ---- words of an enum -------------------------------------------------------------------------

template <class E>
struct Word {
  std::string_view text;
  E value;
};
template <class E>
struct EnumWords;  // specialised with kAll, an array of Word<E>, beside the tables that need it

template <class E>
inline constexpr auto kTexts = [] {
  std::array<std::string_view, std::size(EnumWords<E>::kAll)> texts;
  for (std::size_t i = 0; i < texts.size(); ++i) texts[i] = EnumWords<E>::kAll[i].text;
  return texts;
}();
constexpr Value OneOf(std::span<const std::string_view> words) {
  return {.kind = ValueKind::kWord, .words = words};
}
template <class E>
constexpr Value OneOf() {
  return OneOf(kTexts<E>);
}

// ---- where a value goes -----------------------------------------------------------------------

// One key being read. `range` and `y` have the borrowed units filled in.
struct Reading {
  yaml::Reader& r;
  BenchContext* c;  // for terminals
  std::string_view key;
  const Value& value;
  yaml::Range range, y;
};

bool Put(const Reading& at, double* out);
bool Put(const Reading& at, std::optional<double>* out);
bool Put(const Reading& at, bool* out);
bool Put(const Reading& at, std::string* out);
bool Put(const Reading& at, Points* out);
std::optional<std::int64_t> GetWhole(const Reading& at);
int GetWordIndex(const Reading& at);

template <class M>
requires std::is_integral_v<M>
bool Put(const Reading& at, M* out) {
  const auto value = GetWhole(at);
  if (value) *out = static_cast<M>(*value);
  return value.has_value();
}
template <class M>
requires std::is_integral_v<M>
bool Put(const Reading& at, std::optional<M>* out) {
  M value = 0;
  if (!Put(at, &value)) return false;
  *out = value;
  return true;
}
template <class E>
requires std::is_enum_v<E>
bool Put(const Reading& at, E* out) {
  const int index = GetWordIndex(at);
  if (index >= 0) *out = EnumWords<E>::kAll[index].value;
  return index >= 0;
}

// A member's value as it would be written; empty: none.
template <class M>
std::string Written(const M& value) {
  if constexpr (std::is_same_v<M, bool>) {
    return value ? "true" : "false";
  } else if constexpr (std::is_arithmetic_v<M>) {
    return fmt::format("{}", value);
  } else if constexpr (std::is_enum_v<M>) {
    for (const auto& word : EnumWords<M>::kAll) {
      if (word.value == value) return std::string(word.text);
    }
    return {};
  } else if constexpr (std::is_same_v<M, std::string>) {
    return value;
  } else {
    return {};  // optional, points
  }
}

template <class S>
struct Slot {
  bool (*read)(const Reading&, S&) = nullptr;
  std::string (*usual)(const S&) = nullptr;
};

template <class T>
struct MemberOf;
template <class M, class S>
struct MemberOf<M S::*> {
  using Struct = S;
};
template <auto kMember>
using StructOf = typename MemberOf<decltype(kMember)>::Struct;

template <auto kMember>
inline constexpr Slot<StructOf<kMember>> To = {
    [](const Reading& at, StructOf<kMember>& s) { return Put(at, &(s.*kMember)); },
    [](const StructOf<kMember>& s) { return Written(s.*kMember); }};

struct Untied {};  // of tables whose rows are all read by functions

// ---- a row ------------------------------------------------------------------------------------

template <class S>
struct Field {
  std::string_view key;
  Slot<S> slot;
  Value value;
  std::string_view meaning;
  std::string_view needs = {};  // what to write when it is missing; empty: may be left out
  std::string_view usual = {};  // the default, where it is not the member's own
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEY_H_
