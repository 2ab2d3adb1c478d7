// SPDX-License-Identifier: Apache-2.0
#include "proofread/told.h"

#include <fmt/format.h>

#include "proofread/arming.h"
#include "proofread/ripple.h"

namespace drycrank::proofread {

std::string At(const Place& place) {
  return fmt::format("{}:{}:{}", place.file, place.line, place.column);
}

Compared CompareTold(const profile::Bench& bench) {
  Compared out;
  if (bench.controller) {
    Pins pins(bench);
    CompareEngine(bench, out);
    CompareOutputs(bench, out);
    CompareTriggers(bench, pins, out);
    TellApart(bench, out);
    CompareArming(bench, out);
    CompareRipple(bench, out);
    CompareTables(bench, pins, out);
    CompareProtections(bench, out);
  }
  CompareLayouts(bench, out);
  CompareReadouts(bench, out);
  return out;
}

}  // namespace drycrank::proofread
