// SPDX-License-Identifier: Apache-2.0
//
// Runs ngspice (a general-purpose circuit simulator) on a deck and returns the node voltages of its
// operating point. A deck ends in ".op" and ".end".
#ifndef DRYCRANK_TESTS_SUPPORT_NGSPICE_H_
#define DRYCRANK_TESTS_SUPPORT_NGSPICE_H_

#include <cstdlib>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include "tests/support/scratch_folder.h"

namespace drycrank::support {

struct NgspiceResult {
  std::map<std::string, double> node_v;  // "n1"; without the ground node "0"
  std::string log;                       // all that ngspice said
};

inline NgspiceResult RunNgspice(std::string deck) {
  // All digits: the table that a bare ".op" prints has six.
  const std::string end = ".op\n.end\n";
  deck.replace(deck.rfind(end), end.size(),
               ".control\nset numdgt=15\nset width=200\nop\nprint all\nquit\n.endc\n.end\n");
  const ScratchFolder folder;
  const std::string in = folder.Path("deck.cir"), out = folder.Path("answer.log");
  std::ofstream(in) << deck;
  NgspiceResult result;
  const std::string command = "ngspice -b " + in + " >" + out + " 2>&1 </dev/null";
  const int status = std::system(command.c_str());
  std::ifstream log_file(out);
  std::stringstream log;
  log << log_file.rdbuf();
  result.log = log.str() + "\nstatus " + std::to_string(status) + "\n";
  for (std::string line; std::getline(log, line);) {
    std::istringstream words(line);
    std::string name, equals;
    double volts = 0;
    if (words >> name >> equals >> volts && equals == "=") result.node_v[name] = volts;
  }
  return result;
}

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_NGSPICE_H_
