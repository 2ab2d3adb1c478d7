// SPDX-License-Identifier: Apache-2.0
//
// What the guard does: a small process beside the one that drives outputs (io/guard.h), which brings
// them to their safe state when their owner is gone. A relay keeps its level when its owner is killed, a
// DAC its volts, a supply its output: no handler of a signal helps then.
//
//   owner ── hold SETTING ──►  opens what it needs       ──► held, or why not
//         ── arm ───────────►  a beat within the limit is expected from now on   ──► armed
//         ── beat, beat, ... ►
//         ── disarm ────────►  the owner has made all safe by itself             ──► disarmed
//         ── safe ──────────►  acts at once                                      ──► safe, or what failed
//   the line closes while armed: acts.  No beat within the limit: ends the owner, for a program that
//   wakes up would drive on, and acts. Each setting has a thread, so that one that hangs delays no other;
//   what fails is tried again for two seconds.
//
// Time is counted as the watchdog counts it (io/watchdog.h), in steps that the guard lives through.
#ifndef DRYCRANK_IO_GUARD_PROCESS_H_
#define DRYCRANK_IO_GUARD_PROCESS_H_

#include <chrono>

namespace drycrank::io {

// `owner`: a socket of whole messages (SOCK_SEQPACKET) to the parent of this process. Returns 0: nothing
// was left to do, or all is safe; 3: something is not, which standard error has. 2: no such socket.
int RunGuard(int owner, std::chrono::milliseconds limit);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_GUARD_PROCESS_H_
