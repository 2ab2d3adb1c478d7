// SPDX-License-Identifier: Apache-2.0
//
// Reads one mapping by its table (key.h): the reader knows the table's keys, misses those that are
// needed, and puts the values where the rows say. A section that has several tables (what all have,
// and what one kind has) has a TableReader for each. Internal to profile/.
#ifndef DRYCRANK_PROFILE_TABLE_READER_H_
#define DRYCRANK_PROFILE_TABLE_READER_H_

#include <algorithm>
#include <cassert>
#include <string>
#include <vector>

#include "profile/key.h"

namespace drycrank::profile {

template <class S>
class TableReader {
 public:
  // `c` is needed where the table has terminals: they belong to one device then.
  TableReader(yaml::Reader& r, std::span<const Field<S>> table, S& into, BenchContext* c = nullptr)
      : r_(r), table_(table), into_(into), c_(c) {
    for (const Field<S>& field : table) r.Know(field.key);
    for (const Field<S>& field : table) {
      if (!field.needs.empty()) r.Require(field.key, field.needs);
    }
  }

  // Whether it has been read. `unit` is what a borrowed unit is here.
  bool Take(std::string_view key, std::string_view unit = "") {
    const Field<S>& field = FieldOf(key);
    return Read(field, Lend(field.value.range, unit), Lend(field.value.y, unit));
  }
  bool Take(std::string_view key, const yaml::Range& range) {
    const Field<S>& field = FieldOf(key);
    return Read(field, range, field.value.y);
  }
  // All that have a place to go and have not been read.
  void TakeRest(std::string_view unit = "") {
    for (const Field<S>& field : table_) {
      if (field.slot.read == nullptr || Taken(field.key)) continue;
      Read(field, Lend(field.value.range, unit), Lend(field.value.y, unit));
    }
  }

 private:
  static yaml::Range Lend(yaml::Range range, std::string_view unit) {
    if (IsBorrowed(range.unit)) range.unit = unit;
    return range;
  }
  bool Taken(std::string_view key) const {
    return std::find(taken_.begin(), taken_.end(), key) != taken_.end();
  }
  const Field<S>& FieldOf(std::string_view key) const {
    const auto at = std::find_if(table_.begin(), table_.end(),
                                 [key](const Field<S>& field) { return field.key == key; });
    assert(at != table_.end() && at->slot.read != nullptr);
    return *at;
  }
  bool Read(const Field<S>& field, const yaml::Range& range, const yaml::Range& y) {
    taken_.push_back(field.key);
    return field.slot.read({r_, c_, field.key, field.value, range, y}, into_);
  }

  yaml::Reader& r_;
  std::span<const Field<S>> table_;
  S& into_;
  BenchContext* c_;
  std::vector<std::string_view> taken_;
};

template <class S, std::size_t kSize>
TableReader(yaml::Reader&, const Field<S> (&)[kSize], S&) -> TableReader<S>;
template <class S, std::size_t kSize>
TableReader(yaml::Reader&, const Field<S> (&)[kSize], S&, BenchContext*) -> TableReader<S>;

// The whole table, in its order.
template <class S, std::size_t kSize>
void TakeAll(yaml::Reader& r, const Field<S> (&table)[kSize], S& into, BenchContext* c = nullptr,
             std::string_view unit = "") {
  TableReader(r, table, into, c).TakeRest(unit);
}

// Rows that functions read, because what one says depends on another: the limits, and what to write
// when it is missing, are the row's.
class Rows {
 public:
  explicit Rows(yaml::Reader& r) : r_(r) {}

  yaml::Reader* operator->() { return &r_; }
  yaml::Reader& reader() { return r_; }

  void Know(std::span<const Field<Untied>> rows) {
    for (const Field<Untied>& row : rows) {
      r_.Know(row.key);
      rows_.push_back(&row);
    }
  }
  // Reports the key, once, when it is needed and left out.
  void Need(std::string_view key) {
    const Field<Untied>& row = RowOf(key);
    if (row.needs.empty() || std::ranges::count(needed_, key) > 0) return;
    needed_.push_back(row.key);
    r_.Require(key, row.needs);
  }
  // Whether it has been read. `unit` is what a borrowed unit is here.
  template <class T>
  bool Take(std::string_view key, T* out, std::string_view unit = "") {
    yaml::Range range = RowOf(key).value.range;
    if (IsBorrowed(range.unit)) range.unit = unit;
    return Put(key, RowOf(key).value, range, out);
  }
  // With a limit that hangs on something else.
  template <class T>
  bool TakeWhole(std::string_view key, T* out, std::int64_t high) {
    Value value = RowOf(key).value;
    value.high = high;
    return Put(key, value, value.range, out);
  }

 private:
  const Field<Untied>& RowOf(std::string_view key) const {
    const auto at = std::ranges::find(rows_, key, [](const auto* row) { return row->key; });
    assert(at != rows_.end());
    return **at;
  }
  template <class T>
  bool Put(std::string_view key, const Value& value, const yaml::Range& range, T* out) {
    Need(key);
    return profile::Put({r_, nullptr, key, value, range, value.y}, out);
  }

  yaml::Reader& r_;
  std::vector<const Field<Untied>*> rows_;
  std::vector<std::string_view> needed_;
};

// A table whose rows are all read by functions.
template <std::size_t kSize>
void KnowKeys(yaml::Reader& r, const Field<Untied> (&table)[kSize]) {
  Untied nothing;
  TableReader(r, table, nothing);
}

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_TABLE_READER_H_
