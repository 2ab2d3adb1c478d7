// SPDX-License-Identifier: Apache-2.0
//
// The sweep of one readout (sweep.h): its values, limits, silence, lamp, and how it goes on and off.
#ifndef DRYCRANK_SWEEP_READOUT_SWEEP_H_
#define DRYCRANK_SWEEP_READOUT_SWEEP_H_

#include <cstdint>
#include <set>
#include <string>

#include "sweep/screen.h"
#include "sweep/sent_range.h"
#include "sweep/sweep.h"
#include "types/unit.h"

namespace drycrank::sweep {

inline profile::SignalRef SignalOf(const profile::Bench& bench, const profile::Readout& readout) {
  return profile::FindSignal(bench, readout.message + "." + readout.signal);
}

// Of the readout's unit and back.
class Scale {
 public:
  Scale(const profile::Signal& signal, const profile::Readout& readout)
      : from_(signal.unit), to_(readout.unit), plain_(from_.empty() || to_.empty()) {}
  double Shown(double physical) const {
    return plain_ ? physical : Convert(physical, from_, to_).value_or(physical);
  }
  double Sent(double shown) const {
    return plain_ ? shown : Convert(shown, to_, from_).value_or(shown);
  }

 private:
  std::string from_, to_;
  bool plain_;
};

// Steps of the signal's range (sent_range.h) that a sweep sends, ascending.
std::set<std::int64_t> PointsOf(const profile::Signal& signal, const profile::Readout& readout);

// Of the readout's signal, in its unit: a value that must be quiet, in the middle of where no limit
// is, on no edge of a digit or a segment; and one that warns, by what must be shown.
double QuietValue(const profile::Bench& bench, const profile::Readout& readout);
std::optional<double> WarningValue(const profile::Bench& bench, const profile::Readout& readout);

// The first as a step of the range.
std::int64_t QuietStep(const SentRange& range, const Scale& scale, const profile::Readout& readout);

// Adds to out.facts. False: the display told nothing any more. `has_values`: those of value_sweep.h
// are there already.
bool SweepReadout(const profile::Bench& bench, const profile::Readout& readout,
                  const SweepWish& wish, Screen& screen, Swept& out, bool has_values = false);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_READOUT_SWEEP_H_
