// SPDX-License-Identifier: Apache-2.0
#include "tools/stop_signals.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstring>

#include "tools/commands.h"
#include "types/nth.h"
#include "types/plain_text.h"

namespace drycrank::tools {
namespace {

volatile std::sig_atomic_t g_stop = 0;
int g_pipe[2] = {-1, -1};

void OnStopSignal(int signal) {
  const int error = errno;
  g_stop = signal;
  if (::write(g_pipe[1], "", 1) < 0) errno = error;  // full: it is readable then
  errno = error;
}

std::string WithoutBlanks(std::string line) {
  while (!line.empty() && (line.back() == '\r' || line.back() == ' ')) line.pop_back();
  while (!line.empty() && line.front() == ' ') line.erase(0, 1);
  return line;
}

// False: a stop is asked for.
bool WaitForTyping() {
  pollfd watched[] = {{STDIN_FILENO, POLLIN, 0}, {StopDescriptor(), POLLIN, 0}};
  while (::poll(watched, 2, -1) < 0 && errno == EINTR && !StopAsked()) {
  }
  return !StopAsked();
}

}  // namespace

void CatchStopSignals() {
  if (g_pipe[0] < 0 && ::pipe2(g_pipe, O_CLOEXEC | O_NONBLOCK) != 0) g_pipe[0] = g_pipe[1] = -1;
  struct sigaction action {};
  action.sa_handler = OnStopSignal;
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
  struct sigaction hangup {};
  sigaction(SIGHUP, nullptr, &hangup);
  if (hangup.sa_handler != SIG_IGN) sigaction(SIGHUP, &action, nullptr);  // nohup has said no
}

bool StopAsked() { return g_stop != 0; }

std::string WhyStopped() {
  return StopAsked() ? fmt::format("stopped by {}", sigabbrev_np(g_stop)) : "";
}

int StopDescriptor() { return g_pipe[0]; }

std::optional<std::string> TypedLine() {
  static std::string typed;
  while (!StopAsked()) {
    if (const auto end = typed.find('\n'); end != typed.npos) {
      std::string line = typed.substr(0, end);
      typed.erase(0, end + 1);
      return WithoutBlanks(OneLine(line));
    }
    if (!WaitForTyping()) break;
    char bytes[256];
    const ssize_t count = ::read(STDIN_FILENO, bytes, sizeof(bytes));
    if (count > 0) {
      typed.append(bytes, AsSize(count));
    } else if (count == 0 || errno != EINTR) {
      if (typed.empty()) break;
      typed += '\n';  // the last line may lack its end
    }
  }
  return std::nullopt;
}

}  // namespace drycrank::tools
