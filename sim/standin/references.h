// SPDX-License-Identifier: Apache-2.0
//
// Which of the triggers beside the crank's wheel tell the decoder what that wheel cannot. Places of the
// cycle that look alike on the wheel (every tooth of an even one; the two turns of a four-stroke) are told
// apart by a trigger whose edges do not fall into the windows of others when they are moved by as much.
//
//   in this order   those on the crank (a pin in the flywheel), then those on a cam, each as listed
//   by its level    a cam's tooth is in front of the sensor at a tooth of the crank, and not a turn later
//   taken           each that tells something that the ones before it do not; the rest are measured only
//
// A cam beside a pin says in which turn the engine is, and nothing of the place within a turn: it may be
// many teeth of a flywheel late. Where nothing tells the turns apart, the first cam is taken all the same:
// its edges say so.
#ifndef DRYCRANK_STANDIN_REFERENCES_H_
#define DRYCRANK_STANDIN_REFERENCES_H_

#include <vector>

#include "profile/controller_setup.h"
#include "standin/pattern.h"

namespace drycrank::standin {

struct Reference {
  int cam = 0;              // index into decoder.cams
  bool turns_only = false;  // the places within a turn are known without it
};

struct References {
  std::vector<Reference> taken;
  std::vector<int> alike;  // places that still look like place 0
};
References FindReferences(const profile::Controller& controller, const Pattern& crank);

// Turned by `shift_deg`, does every edge lie within the window of one that is due? Crank degrees of a cycle.
bool EdgesFit(const std::vector<double>& edges_deg, const std::vector<double>& due_deg,
              double shift_deg, double window_deg, double cycle_deg);

// How far from its place an edge may lie that has to tell places apart: no farther than half the way to
// the next place that looks the same.
double NarrowWindowDeg(const Pattern& crank, double window_deg);

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_REFERENCES_H_
