// SPDX-License-Identifier: Apache-2.0
//
// Answers that do not say what was asked, before anybody takes them for a fault of the display: of
// a bar a percentage, of a readout with a lamp that it "warns".
//
//   13 %       of a bar: 13, or 13 of 20, are lit
//   8 warns    of one with a red lamp: 8 red
#ifndef DRYCRANK_SWEEP_WHY_NOT_READ_H_
#define DRYCRANK_SWEEP_WHY_NOT_READ_H_

#include <optional>
#include <string>

#include "sweep/person.h"

namespace drycrank::sweep {

struct NotRead {
  std::string what, remedy;
};
// Of what stands there, not of a time. Nothing: it can be taken.
std::optional<NotRead> WhyNotRead(const Reading& reading, const profile::Readout& readout);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_WHY_NOT_READ_H_
