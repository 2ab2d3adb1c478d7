// SPDX-License-Identifier: Apache-2.0
//
// What a fitter would do about a fault: faults that are mended by the same work at the same place
// are one repair. A diagnosis is at its end when one is left.
//
//   contact open, ohms or volts in it   the contacts of a plug with up to four pins; of a larger
//                                       plug that one contact
//   wire open, ohms in it               that wire
//   shorts, leakage                     what the two ends belong to, whichever wire it is
//   a sensor or pickup                  that device
//   the rest                            each its own
#ifndef DRYCRANK_DIAGNOSE_REPAIR_H_
#define DRYCRANK_DIAGNOSE_REPAIR_H_

#include <map>
#include <string>

#include "diagnose/hypothesis.h"
#include "profile/bench.h"

namespace drycrank::diagnose {

struct Repair {
  std::string key;    // the same for the same work
  std::string words;  // "contacts of plug CLT: clean them, crimp them anew"
};

class Repairs {
 public:
  // The bench must outlive it.
  explicit Repairs(const profile::Bench& bench);

  Repair Of(const Hypothesis& hypothesis) const;
  // The wires, as one net, that a terminal or splice belongs to: the name of its first end.
  std::string NetOf(const std::string& place) const;
  static constexpr std::size_t kSmallPlug = 4;  // pins

 private:
  Repair Of(const profile::Fault& fault) const;
  Repair OfContact(const std::string& terminal) const;
  Repair OfSetting(const profile::Fault& fault) const;
  Repair OfShort(const std::string& at, const std::string& with) const;
  bool IsWire(const std::string& circuit) const;
  bool IsFuse(const std::string& circuit) const;

  const profile::Bench& bench_;
  std::map<std::string, std::string> net_;  // by terminal or splice
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_REPAIR_H_
