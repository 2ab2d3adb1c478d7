// SPDX-License-Identifier: Apache-2.0
//
// What the controller has in one situation: a row that many share, and what is otherwise in this one.
// A fault leaves most of a large bench's values alone, and thousands of rows are held and compared.
#ifndef DRYCRANK_DIAGNOSE_VALUE_ROW_H_
#define DRYCRANK_DIAGNOSE_VALUE_ROW_H_

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <memory>
#include <utility>
#include <vector>

#include "diagnose/prediction.h"
#include "types/apart.h"

namespace drycrank::diagnose {

// In the order of standin::ControllerValueNames.
class ControllerValues {
 public:
  ControllerValues() = default;  // empty: the controller is silent
  explicit ControllerValues(std::vector<Prediction> all)
      : shared_(all.empty() ? nullptr : std::make_shared<const Predictions>(std::move(all))) {}
  ControllerValues(std::size_t count, const Prediction& each)
      : ControllerValues(std::vector<Prediction>(count, each)) {}

  bool empty() const { return size() == 0; }
  std::size_t size() const { return Row().size(); }
  const Prediction& operator[](std::size_t value) const {
    assert(value < size());
    for (const auto& [which, own] : apart_) {
      if (which == value) return own;
    }
    return Row()[value];
  }
  void Set(std::size_t value, const Prediction& to) {
    if (!own_.empty()) {
      own_[value] = to;
    } else if (const auto at = Find(value); at != apart_.end() && at->first == value) {
      at->second = to;
    } else if (!(to == (*shared_)[value])) {
      apart_.emplace(at, value, to);
      if (apart_.size() > kMostApart || size() < kLeastShared) TakeOwn();
    }
  }
  // The same, for others to share.
  ControllerValues Whole() const {
    ControllerValues whole = *this;
    if (own_.empty() && !empty()) whole.TakeOwn();
    return ControllerValues(std::move(whole.own_));
  }

  // Calls `on_apart` with the number of each value that is not the same in both, in order. REQUIRES:
  // the same size.
  template <class OnApart>
  static void WhereApart(const ControllerValues& a, const ControllerValues& b,
                         const OnApart& on_apart) {
    const auto test = [&](std::size_t value) {
      if (!(a[value] == b[value])) on_apart(value);
    };
    if (a.apart_.empty() && b.apart_.empty()) {
      if (a.shared_ == nullptr || a.shared_ != b.shared_) {
        drycrank::WhereApart(a.Row(), b.Row(), on_apart);
      }
      return;
    }
    if (a.shared_ != b.shared_) {
      for (std::size_t value = 0; value < a.size(); ++value) test(value);
      return;
    }
    auto of_a = a.apart_.begin(), of_b = b.apart_.begin();
    while (of_a != a.apart_.end() || of_b != b.apart_.end()) {
      const bool from_a = of_b == b.apart_.end() ||
                          (of_a != a.apart_.end() && of_a->first <= of_b->first);
      const std::size_t value = from_a ? of_a->first : of_b->first;
      test(value);
      if (of_a != a.apart_.end() && of_a->first == value) ++of_a;
      if (of_b != b.apart_.end() && of_b->first == value) ++of_b;
    }
  }
  friend bool operator==(const ControllerValues& a, const ControllerValues& b) {
    bool same = a.size() == b.size();
    if (same) WhereApart(a, b, [&](std::size_t) { same = false; });
    return same;
  }

 private:
  // Of more apart, or of fewer values, a row of its own is quicker.
  static constexpr std::size_t kMostApart = 6, kLeastShared = 128;
  using Apart = std::vector<std::pair<std::size_t, Prediction>>;

  const Predictions& Row() const { return shared_ == nullptr ? own_ : *shared_; }
  Apart::iterator Find(std::size_t value) {
    return std::ranges::lower_bound(apart_, value, {}, &Apart::value_type::first);
  }
  void TakeOwn() {
    own_ = *shared_;
    for (const auto& [value, to] : apart_) own_[value] = to;
    apart_.clear();
    shared_.reset();
  }

  std::shared_ptr<const Predictions> shared_;  // none: a row of its own, or empty
  Predictions own_;                            // where there is no shared one
  Apart apart_;                                // from the shared one, by number
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_VALUE_ROW_H_
