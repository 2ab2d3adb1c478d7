// SPDX-License-Identifier: Apache-2.0
//
// How long a message may take at worst from when it is due until it has been sent whole, on a bus
// where the lowest identifier goes first and nobody is interrupted. Davis, Burns, Bril, Lukkien,
// "Controller Area Network (CAN) schedulability analysis: Refuted, revisited and revised",
// Real-Time Systems 35 (2007) 239-272:
//
//   B_m    = longest of the messages behind m            (it may just have begun)
//   t_m    = B_m + sum over k in hp(m)+m of ceil((t_m + J_k) / T_k) C_k        busy period
//   Q_m    = ceil((t_m + J_m) / T_m)                     instances of m in it
//   w(q)   = B_m + q C_m + sum over k in hp(m) of ceil((w(q) + J_k + tau) / T_k) C_k
//   R_m    = max over q = 0..Q_m-1 of J_m + w(q) - q T_m + C_m
//
// All instances in the busy period are looked at: stopping at the first was the error that the
// paper corrects. Whole nanoseconds. It holds for senders that hand the bus their most urgent frame
// first, and for a bus without errors; a repetition after an error comes on top.
#ifndef DRYCRANK_BUS_RESPONSE_TIME_H_
#define DRYCRANK_BUS_RESPONSE_TIME_H_

#include <optional>
#include <span>
#include <vector>

#include "types/time.h"

namespace drycrank::bus {

// One message as the analysis sees it.
struct Stream {
  TimeNs period_ns = 0;        // T: no two are due closer than this; > 0
  TimeNs transmission_ns = 0;  // C: longest time on the wire, intermission included; > 0
  TimeNs jitter_ns = 0;        // J: how late after its due instant it may be handed to the bus
};

struct Response {
  TimeNs busy_period_ns = 0;
  std::vector<TimeNs> instance_ns;  // R(q)
  TimeNs worst_ns = 0;              // R
};

// REQUIRES: `streams` in order of priority, the most urgent first. `bit_ns`: tau, one bit. Nothing
// for a message without a bound: it and what goes before it fill the bus, or leave it no gap within
// 10 s.
std::vector<std::optional<Response>> ResponseTimes(std::span<const Stream> streams, TimeNs bit_ns);

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_RESPONSE_TIME_H_
