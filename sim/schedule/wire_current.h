// SPDX-License-Identifier: Apache-2.0
//
// What a copper wire bears for ever beside others in one bundle, 30 degC, PVC: VDE 0100 part 523, group 2
// (edition of the eighties), *from memory, not looked up again*; it begins at 0.75 mm2. Thinner wires are
// computed from that row by A^0.65, which the rows from 0.75 to 4 mm2 follow within 8 %. A hot engine bay
// or a thick bundle bears less, insulation for more heat more: the maker's table goes before this one.
#ifndef DRYCRANK_SCHEDULE_WIRE_CURRENT_H_
#define DRYCRANK_SCHEDULE_WIRE_CURRENT_H_

namespace drycrank::schedule {

// Of the row for that area or the next thinner one; 0: thicker than 16 mm2, which no blade fuse guards.
double MostAmperes(double area_mm2);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_WIRE_CURRENT_H_
