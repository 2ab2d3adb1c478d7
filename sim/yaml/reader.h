// SPDX-License-Identifier: Apache-2.0
//
// Reads one mapping of a profile: typed getters that collect what is wrong instead of failing, and
// a last look for keys that are not known. A getter returns whether it has set its target; a key
// that is left out or wrong leaves the target (the struct's default) as it is.
#ifndef DRYCRANK_YAML_READER_H_
#define DRYCRANK_YAML_READER_H_

#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "types/points.h"
#include "types/written_at.h"
#include "yaml/problems.h"
#include "yaml/tree.h"

namespace drycrank::yaml {

// What a number must be. Written without a unit it is in `unit`; with one, it is converted.
struct Range {
  std::string_view unit = "";  // canonical; empty: a plain number
  double min = -1e12, max = 1e12;
  bool is_difference = false;  // tolerance, amplitude, hysteresis: 2 K is 2 degC
};

// A word that names something elsewhere, and where it stands.
struct Ref {
  std::string text;
  Place place;
};

class Reader {
 public:
  // `title` names the mapping in messages: "sensor 'coolant'". `place` is where it is missed from:
  // the key it stands under, or its own begin.
  Reader(Problems& problems, const Node& node, std::string title);
  Reader(Problems& problems, const Node& node, std::string title, Place place);
  ~Reader();  // reports unknown keys
  Reader(const Reader&) = delete;
  Reader& operator=(const Reader&) = delete;

  bool is_map() const { return node_.kind == NodeKind::kMap; }
  bool Has(std::string_view key) const { return node_.Find(key) != nullptr; }
  const Node* Find(std::string_view key);  // null when left out
  const Place& place() const { return place_; }
  const std::string& title() const { return title_; }
  Problems& problems() { return problems_; }
  Place PlaceOf(std::string_view key) const;  // of the value, or place() when left out
  WrittenAt Written() const;                  // all keys that are there
  // The mapping is not understood (its `kind` is wrong): its other keys are not judged.
  void PassOverOtherKeys() { judge_keys_ = false; }

  // `key` may stand here, says a table. From the first such word on, what is not in a table is not
  // known; without one, what nobody asked for is not.
  void Know(std::string_view key);

  // The mapping is a file's: a key that is not known here stands for a whole section, which is why
  // names are missing elsewhere.
  void BeTop() { is_top_ = true; }

  // Reports the key when it is left out. `example` shows what to write: "unit: degC".
  bool Require(std::string_view key, std::string_view example);
  // "`title` has `what`; `remedy`", at the key.
  void Complain(std::string_view key, const std::string& what, std::string remedy);

  bool Get(std::string_view key, double* out, const Range& range);
  bool Get(std::string_view key, std::optional<double>* out, const Range& range);
  bool Get(std::string_view key, int* out, int min, int max);
  bool Get(std::string_view key, bool* out);
  bool GetInt64(std::string_view key, std::int64_t* out, std::int64_t min, std::int64_t max);
  bool GetText(std::string_view key, std::string* out);
  bool GetName(std::string_view key, std::string* out);  // letters, digits, _; no digit first
  bool GetUnit(std::string_view key, std::string* out);  // canonical
  bool GetPoints(std::string_view key, Points* out, const Range& x, const Range& y);
  std::optional<Ref> GetRef(std::string_view key);
  std::vector<Ref> GetRefs(std::string_view key);  // a list of words

  template <class Enum>
  bool GetWord(std::string_view key, Enum* out,
               std::initializer_list<std::pair<std::string_view, Enum>> words) {
    std::vector<std::string> known;
    for (const auto& [word, value] : words) known.emplace_back(word);
    const int index = WordIndex(key, known);
    if (index < 0) return false;
    *out = (words.begin() + index)->second;
    return true;
  }
  // `all`: what is known, when nothing is near and a list of `known` would not be readable.
  int WordIndex(std::string_view key, const std::vector<std::string>& known,
                const std::string& all = "");

 private:
  bool Knows(std::string_view key) const;
  void ReportUnknown(const Entry& entry);
  std::string HasNone(std::string_view key) const;

  Problems& problems_;
  const Node& node_;
  std::string title_;
  Place place_;
  std::vector<std::string> known_;
  bool has_table_ = false, judge_keys_ = true, is_top_ = false;
  std::size_t first_problem_;
};

// One value, wherever it stands. `what` names it in messages: "'coil_ohm'".
std::optional<double> ReadNumber(Problems& problems, const Node& node, const std::string& what,
                                 const Range& range);
std::optional<std::int64_t> ReadInt(Problems& problems, const Node& node, const std::string& what,
                                    std::int64_t min, std::int64_t max);
std::optional<Ref> ReadRef(Problems& problems, const Node& node, const std::string& what);
// [[x, y], ...], x ascending, at least two.
bool ReadPoints(Problems& problems, const Node& node, const std::string& what, const Range& x,
                const Range& y, Points* out);

// Number text ("25 psi") to a number in range.unit. Says nothing itself: why not is in
// `what`/`remedy`.
struct NumberResult {
  std::optional<double> value;
  std::string what, remedy;
};
NumberResult ParseNumber(const std::string& text, const Range& range);

// Is it a name: letters, digits and _, no digit first, at most 64 long?
bool IsName(std::string_view text);
bool CheckName(Problems& problems, const Place& place, std::string_view text);

// Calls each(name, place of name, node) for `{name: node, ...}`, names checked.
template <class Each>
void EachNamed(Problems& problems, const Node* map, const std::string& what, Each each) {
  if (map == nullptr || map->kind == NodeKind::kNull) return;
  if (map->kind != NodeKind::kMap) {
    problems.Add(map->Where(), what + " is " + KindName(*map),
                 "write names with their data, as 'name: {...}'");
    return;
  }
  for (const Entry& entry : map->entries) {
    const Place place = entry.key_spot.Where();
    CheckName(problems, place, entry.key);
    each(entry.key, place, entry.value);
  }
}

// Calls each(node) for a list.
template <class Each>
void EachItem(Problems& problems, const Node* list, const std::string& what, Each each) {
  if (list == nullptr || list->kind == NodeKind::kNull) return;
  if (list->kind != NodeKind::kList) {
    problems.Add(list->Where(), what + " is " + KindName(*list), "write a list");
    return;
  }
  for (const Node& item : list->items) each(item);
}

// Names of a list's entries, in order.
template <class List>
std::vector<std::string> NamesOf(const List& list) {
  std::vector<std::string> names;
  for (const auto& entry : list) names.push_back(entry.name);
  return names;
}

// Index of the name among `known`, or -1 and a problem: "no stimulus 'x'; did you mean 'y'?".
int Resolve(Problems& problems, const Ref& ref, const std::vector<std::string>& known,
            const std::string& what);

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_READER_H_
