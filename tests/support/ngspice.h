// SPDX-License-Identifier: Apache-2.0
//
// The operating point of a deck by ngspice (a general-purpose circuit simulator). A deck ends in
// ".op" and ".end".
//
// One ngspice computes all decks of a test program, one after another: starting it takes thirty
// times as long as a deck. It reads commands from one end of a socket pair (-p) and answers there;
// each deck is forgotten before the next. It ends when the other end is closed, however the test
// ends. -n: without the user's own settings.
#ifndef DRYCRANK_TESTS_SUPPORT_NGSPICE_H_
#define DRYCRANK_TESTS_SUPPORT_NGSPICE_H_

#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstddef>
#include <fstream>
#include <map>
#include <memory>
#include <sstream>
#include <string>
#include <system_error>

#include "tests/support/scratch_folder.h"

namespace drycrank::support {

struct NgspiceResult {
  std::map<std::string, double> node_v;  // "n1"; without the ground node "0"
  std::string log;                       // all that ngspice said
};

class Ngspice {
 public:
  Ngspice() {
    int ends[2];
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends) != 0) Fail(errno, "socketpair");
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    for (const int descriptor : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
      posix_spawn_file_actions_adddup2(&actions, ends[1], descriptor);
    }
    char name[] = "ngspice", own_settings[] = "-n", pipe[] = "-p";
    char* const command[] = {name, own_settings, pipe, nullptr};
    const int failed = posix_spawnp(&pid_, name, &actions, nullptr, command, environ);
    posix_spawn_file_actions_destroy(&actions);
    close(ends[1]);
    socket_ = ends[0];
    if (failed != 0) Fail(failed, "start ngspice");
    // All digits: the table that a bare ".op" prints has six.
    Say("set numdgt=15\nset width=200\n");
  }
  ~Ngspice() {
    close(socket_);
    if (pid_ > 0) waitpid(pid_, nullptr, 0);
  }
  Ngspice(const Ngspice&) = delete;
  Ngspice& operator=(const Ngspice&) = delete;

  // No node has a voltage: it found none, the log says why, and this ngspice is not to be asked
  // again (it prompts from then on).
  NgspiceResult Solve(const std::string& deck) {
    const std::string file = folder_.Path("deck.cir");
    std::ofstream(file) << deck;
    const std::string end = "answered " + std::to_string(++asked_);
    Say("source " + file + "\nop\nprint all\nremcirc\ndestroy all\necho " + end + "\n");
    NgspiceResult result;
    bool solved = false;
    for (std::string line; ReadLine(line) && !line.ends_with(end);) {
      result.log += line + "\n";
      solved = solved || line.starts_with("No. of Data Rows : 1");
      std::istringstream words(line);
      std::string name, equals;
      double volts = 0;
      if (words >> name >> equals >> volts && equals == "=") result.node_v[name] = volts;
    }
    if (!solved) result.node_v.clear();  // constants of its own, as pi
    return result;
  }

 private:
  [[noreturn]] static void Fail(int error, const char* step) {
    throw std::system_error(error, std::generic_category(), step);
  }
  void Say(const std::string& commands) {
    // If it has ended, the reading tells.
    (void)!send(socket_, commands.data(), commands.size(), MSG_NOSIGNAL);
  }
  bool ReadLine(std::string& line) {
    std::size_t end = 0;
    while ((end = read_.find('\n')) == std::string::npos) {
      char bytes[4096];
      const ssize_t got = recv(socket_, bytes, sizeof(bytes), 0);
      if (got <= 0) return false;
      read_.append(bytes, static_cast<std::size_t>(got));
    }
    line = read_.substr(0, end);
    read_.erase(0, end + 1);
    return true;
  }

  ScratchFolder folder_;
  int socket_ = -1;
  pid_t pid_ = -1;
  int asked_ = 0;
  std::string read_;  // and not yet given as a line
};

inline NgspiceResult RunNgspice(const std::string& deck) {
  static std::unique_ptr<Ngspice> running;
  if (!running) running = std::make_unique<Ngspice>();
  NgspiceResult result = running->Solve(deck);
  if (result.node_v.empty()) running.reset();
  return result;
}

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_NGSPICE_H_
