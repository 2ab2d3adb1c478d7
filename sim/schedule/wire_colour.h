// SPDX-License-Identifier: Apache-2.0
//
// A wire's colour as written to what a drawing paints: words in English and German, the codes of
// IEC 60757 (BK, BN, RD, OG, YE, GN, BU, VT, GY, WH, PK, TQ; from memory), and German workshop
// short forms (sw, br, rt, ...; from memory). Two colours, "green/white", are a base and a stripe.
// "gr" is grey to one and green to another, and is not known.
#ifndef DRYCRANK_SCHEDULE_WIRE_COLOUR_H_
#define DRYCRANK_SCHEDULE_WIRE_COLOUR_H_

#include <string>
#include <string_view>

namespace drycrank::schedule {

struct Paint {
  std::string base;    // "#1d8a3a"; empty: the colour is not known, or none is written
  std::string stripe;  // empty: none
};
Paint PaintOf(std::string_view colour);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_WIRE_COLOUR_H_
