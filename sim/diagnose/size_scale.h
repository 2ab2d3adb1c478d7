// SPDX-License-Identifier: Apache-2.0
//
// The size of a fault on the scale on which it is spread evenly: log R of a resistance, the number itself
// of an offset. And the messages that a set of faults keeps away.
#ifndef DRYCRANK_DIAGNOSE_SIZE_SCALE_H_
#define DRYCRANK_DIAGNOSE_SIZE_SCALE_H_

#include <cmath>
#include <set>
#include <span>
#include <string>

#include "diagnose/hypothesis.h"

namespace drycrank::diagnose {

inline double ToScale(const Hypothesis& h, double value) {
  return h.IsLogarithmic() ? std::log(value) : value;
}
inline double FromScale(const Hypothesis& h, double x) {
  return h.IsLogarithmic() ? std::exp(x) : x;
}

inline double Low(const Hypothesis& h) { return ToScale(h, h.low); }
inline double High(const Hypothesis& h) { return ToScale(h, h.high); }

inline std::set<std::string> MissingIn(std::span<const profile::Fault> faults) {
  std::set<std::string> missing;
  for (const profile::Fault& fault : faults) {
    if (fault.Is<profile::fault::MessageMissing>()) missing.insert(fault.at);
  }
  return missing;
}

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_SIZE_SCALE_H_
