// SPDX-License-Identifier: Apache-2.0
//
// What has been set in the controller and the display against what is built. `engine:`,
// `triggers:`, `sensors:`, the wires and the pins' circuits say what is built; the tables, wheels,
// angles and orders under `controller:` and the layouts under `display:` are what was told. A
// disagreement stands at what was told, and names what is built with its place: either may be the
// wrong one.
//
//   told_engine    strokes, firing order and angles, designed advance, trailing plugs
//   told_outputs   coils and injectors of a cylinder twice, of none, left out
//   told_triggers  wheel, shaft, offset, edge, polarity, thresholds, window of a cam
//   told_apart     patterns with which no controller could find its place
//   arming         lobes that do not arm an input which adapts
//   ripple         the speed ripple with which it keeps its place while cranking
//   told_tables    volts, frequencies, pulse widths to values
//   told_protections  limits that no value passes, or none that is taken for good
//   told_layouts   the display's own idea of the messages
//   told_readouts  its gauges against what must be shown, and both against the messages
//
// What a bench file does not say cannot be compared; it is listed, so that nobody takes silence for
// agreement.
#ifndef DRYCRANK_PROOFREAD_TOLD_H_
#define DRYCRANK_PROOFREAD_TOLD_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "proofread/pins.h"
#include "types/diagnostic.h"

namespace drycrank::proofread {

struct Compared {
  Diagnostics disagreements;
  Diagnostics not_compared;  // `what` is left open, `remedy` what would close it
  std::vector<std::string> facts = {};  // what follows from both, and is no disagreement
};

Compared CompareTold(const profile::Bench& bench);

// ---- its parts. REQUIRES for the first six: bench.controller ---------------------------------

void CompareEngine(const profile::Bench& bench, Compared& out);
void CompareOutputs(const profile::Bench& bench, Compared& out);
void CompareTriggers(const profile::Bench& bench, Pins& pins, Compared& out);
void TellApart(const profile::Bench& bench, Compared& out);
void CompareTables(const profile::Bench& bench, Pins& pins, Compared& out);
void CompareProtections(const profile::Bench& bench, Compared& out);
void CompareLayouts(const profile::Bench& bench, Compared& out);
void CompareReadouts(const profile::Bench& bench, Compared& out);

// "file:line:column", of the side that is built.
std::string At(const Place& place);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_TOLD_H_
