// SPDX-License-Identifier: Apache-2.0
//
// The command line of drycrankd. Apart from commands.h: the other tools do not know the daemon.
#ifndef DRYCRANK_TOOLS_DRYCRANKD_H_
#define DRYCRANK_TOOLS_DRYCRANKD_H_

namespace drycrank::tools {

int DaemonMain(int argc, char** argv);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DRYCRANKD_H_
