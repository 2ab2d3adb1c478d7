// SPDX-License-Identifier: Apache-2.0
#include "sweep/key_edits.h"

#include <fmt/format.h>

#include "types/nth.h"

namespace drycrank::sweep {
namespace {

using profile::Display;
using profile::Gauge;
using profile::Signal;

constexpr int kLengths[] = {2, 1, 3, 4, 8};

class Edits {
 public:
  Edits(const Display& set, const std::string& key) : set_(set), key_(key) {
    m_ = profile::IndexOf(set.layouts, key.substr(0, key.find('.')));
    if (m_ < 0) return;
    s_ = profile::IndexOf(Nth(set.layouts, m_).signals, key.substr(key.find('.') + 1));
  }

  std::vector<Edit> All() {
    if (m_ < 0 || s_ < 0) return {};
    const int bits = Nth(set_.layouts, m_).length_bytes * 8;
    for (int shift = 1; shift < bits; ++shift) {
      for (const int start : {signal().start_bit + shift, signal().start_bit - shift}) {
        if (start < 0 || start >= bits) continue;
        OfKey("start_bit", signal().start_bit, start, [start](Signal& s) { s.start_bit = start; });
      }
    }
    for (const int length : kLengths) {
      OfKey("length_bits", signal().length_bits, length,
            [length](Signal& s) { s.length_bits = length; });
    }
    return std::move(edits_);
  }

 private:
  const Signal& signal() const { return Nth(Nth(set_.layouts, m_).signals, s_); }
  bool Touches(const Gauge& g) const {
    return g.acknowledged_by == key_ || g.message + "." + g.signal == key_ ||
           set_.switching.key == key_;
  }
  template <class Change>
  void OfKey(const char* what, int is, int becomes, Change change) {
    if (is == becomes) return;
    Edit edit{fmt::format("{} of {}", what, key_),
              fmt::format("{}", is),
              fmt::format("{}", becomes),
              {},
              set_};
    for (const Gauge& g : set_.gauges) {
      if (Touches(g)) edit.readouts.push_back(g.name);
    }
    edit.is_one_of_many = true;
    change(Nth(Nth(edit.display.layouts, m_).signals, s_));
    edits_.push_back(std::move(edit));
  }

  const Display& set_;
  std::string key_;
  int m_ = -1, s_ = -1;
  std::vector<Edit> edits_;
};

}  // namespace

std::vector<Edit> KeyEdits(const profile::Bench& bench, const profile::Readout& readout) {
  const Display& set = *bench.display;
  const Gauge& gauge = Nth(set.gauges, profile::IndexOf(set.gauges, readout.name));
  std::vector<Edit> all = Edits(set, gauge.acknowledged_by).All();
  for (Edit& edit : Edits(set, set.switching.key).All()) all.push_back(std::move(edit));
  return all;
}

}  // namespace drycrank::sweep
