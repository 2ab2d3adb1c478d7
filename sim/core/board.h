// SPDX-License-Identifier: Apache-2.0
//
// All that the trigger core asks of the board it runs on: one file has these five functions.
//
//   time    BoardNow         ns since power came, never backwards
//   pins    BoardSet         the pin of a channel changes at that time, by a timer's compare output;
//                            later than asked when that is past. Calls of one channel come in order
//           BoardSafe        all pins to these levels (a bit each), at once; what was set is forgotten
//   link    BoardRead        the next byte that came, or -1
//           BoardWrite       a byte to the other end
//
// The main loop is CoreNode::Run (core/core_node.h), again and again, each fifth of kAhead at the latest.
#ifndef DRYCRANK_CORE_BOARD_H_
#define DRYCRANK_CORE_BOARD_H_

#include <stdint.h>

namespace drycrank::core {

int64_t BoardNow();
void BoardSet(int32_t channel, bool level, int64_t at);
void BoardSafe(uint32_t levels);
int BoardRead();
void BoardWrite(uint8_t byte);

}  // namespace drycrank::core

#endif  // DRYCRANK_CORE_BOARD_H_
