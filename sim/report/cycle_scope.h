// SPDX-License-Identifier: Apache-2.0
//
// A cycle of the crank as a drawing over its degrees. Each wheel has its voltage, and under it what the
// input made of it (solid) on what is due (filled), with the tooth numbers and how far each edge is off:
//
//             top 1          top 3          top 4          top 2
//   crank     ∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿∿____∿∿∿∿∿∿∿∿∿
//             1         10        20            58
//   cam       ‾‾|____|‾‾‾‾‾‾‾‾‾‾‾|______|‾‾‾‾
//              +18.0° +18.0°
//   sparks        | 1  12.0° before top
//   decoder   searching │ synchronised
//             0°            90°             180° ...
#ifndef DRYCRANK_REPORT_CYCLE_SCOPE_H_
#define DRYCRANK_REPORT_CYCLE_SCOPE_H_

#include "report/cycle.h"
#include "report/svg.h"

namespace drycrank::report {

// REQUIRES: a row.
Drawing DrawCycle(const CyclePicture& picture);
// With its caption, as an element of a page.
Markup CycleFigure(const CyclePicture& picture);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_CYCLE_SCOPE_H_
