// SPDX-License-Identifier: Apache-2.0
//
// A thread that must not wait for its turn, where it may have no rights. Of these each is tried, the strongest first:
//
//   SCHED_FIFO       root, CAP_SYS_NICE or RLIMIT_RTPRIO: before every ordinary thread
//   a nicer number   as far as RLIMIT_NICE lets it: more of the processor
//   a short slice    everybody may, from Linux 6.12 on: a thread that asks for 0.1 ms at a time comes sooner after it
//                    woke up than those that work in slices of milliseconds, whatever its niceness. Older kernels
//                    take it and do nothing
//
// Threads that it makes afterwards have the same.
#ifndef DRYCRANK_IO_GO_FIRST_H_
#define DRYCRANK_IO_GO_FIRST_H_

namespace drycrank::io {

// Of an ordinary thread, this one: the last two.
void GoSooner();
// This thread. False: SCHED_FIFO was refused (errno says why), and it is an ordinary one. `alone`: threads that it makes
// are ordinary ones.
bool GoFirst(int priority, bool alone);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_GO_FIRST_H_
