// SPDX-License-Identifier: Apache-2.0
//
// Which test to make next: the one that tells most about which repair is needed, for the effort it
// takes (expected information; de Kleer & Williams 1987, section 5):
//
//   information = H(answer) - H(answer | repair)     H = - sum p log2 p over the answers foretold
//   best        = the greatest information / effort
//
// What is tried: a stimulus held at a value and the reports looked at · volts at each pin from the
// wire side and at each splice, key on · ohms along the suspect wires, across the suspect sensors
// and between what may touch, key off · amperes at the supply's terminal · a suspect plug pulled
// and the reports looked at · a suspect wire bridged · a suspect plug moved by hand.
//
// Effort in the time that a reading of volts takes (common practice, no source):
//
//   volts 1, with a probe there already 0.5, at the same plug 0.8      amperes 3
//   ohms 2, with the key off already 1.2, and 0.3 for each plug pulled but the controller's
//   held stimulus 1.2    plug pulled 1.2    bridge 1.6    plug moved 0.6
//
// A bridge is never proposed where any suspect, or a healthy bench, would send more than 0.2 A
// through it.
#ifndef DRYCRANK_DIAGNOSE_NEXT_TEST_H_
#define DRYCRANK_DIAGNOSE_NEXT_TEST_H_

#include <set>
#include <span>
#include <string>
#include <vector>

#include "diagnose/measured.h"
#include "diagnose/narrowed.h"

namespace drycrank::diagnose {

// What one set of suspects would show.
struct Answer {
  std::vector<std::size_t>
      suspects;              // indices into Narrowed::suspects; empty: a healthy bench alone
  std::string shows;         // "4.98 V", "engine_temps.coolant 12 °C", "yes"
  double share = 0;          // of those asked about
  Foretold foretold;         // of the first of them
  bool healthy_too = false;  // a healthy bench would show the same
};

struct NextTest {
  Test test;
  std::string what;        // "volts at CLT.1, wire side of the plug"
  double information = 0;  // bits
  double effort = 1;
  std::vector<Answer> answers;  // likeliest first
};

// What stands in the way, or helps.
struct AtHand {
  std::set<std::string> cannot;  // terminals, splices and plugs that nobody can reach
  std::vector<Test> done;        // the last one last; none is proposed again
};

// Best test first, at most `most`; none that tells less than a twentieth of a bit.
std::vector<NextTest> NextTests(MeasuredModel& model, const Narrowed& narrowed,
                                const AtHand& at_hand, std::size_t most);

// "volts at CLT.1, wire side of the plug", "ohms from CLT.1 to ECU.20, key off, plug ECU pulled"
std::string Describe(const MeasuredModel& model, const Test& test);
// All plugs of the controller.
std::vector<std::string> ControllerPlugs(const profile::Bench& bench);
// What is pulled for ohms between two places: the plugs of the controller, so that nothing inside
// it is measured. Across the pair of a bus nothing is: its terminations are inside the nodes.
std::vector<std::string> PulledForOhms(const profile::Bench& bench, const std::string& a,
                                       const std::string& b);
// "CLT.1" for the node "CLT.1~"; a splice as it is.
std::string PlaceOf(const std::string& node);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_NEXT_TEST_H_
