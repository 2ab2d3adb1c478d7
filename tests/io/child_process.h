// SPDX-License-Identifier: Apache-2.0
//
// A program run beside the test, its standard output read line by line. It is ended with the
// object.
#ifndef DRYCRANK_TESTS_IO_CHILD_PROCESS_H_
#define DRYCRANK_TESTS_IO_CHILD_PROCESS_H_

#include <string>
#include <vector>

namespace drycrank::io {

class ChildProcess {
 public:
  // REQUIRES: command[0] is a path. Its standard error is the test's.
  explicit ChildProcess(const std::vector<std::string>& command);
  ~ChildProcess();
  ChildProcess(const ChildProcess&) = delete;
  ChildProcess& operator=(const ChildProcess&) = delete;

  // The next line it writes, without its end; "(silent)" after 20 s, "(ended)" when there is no
  // more.
  std::string ReadLine();
  // As Ctrl-C does.
  void Interrupt();
  // Its exit code, or -1 if it was ended by a signal; killed if it does not end within 20 s.
  int WaitForEnd();

 private:
  int pid_ = -1;
  int output_ = -1;
  std::string read_;  // and not yet given as a line
};

}  // namespace drycrank::io

#endif  // DRYCRANK_TESTS_IO_CHILD_PROCESS_H_
