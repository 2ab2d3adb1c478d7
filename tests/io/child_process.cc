// SPDX-License-Identifier: Apache-2.0
#include "tests/io/child_process.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>

namespace drycrank::io {
namespace {

constexpr int kPatienceMs = 20'000;

}  // namespace

ChildProcess::ChildProcess(const std::vector<std::string>& command) {
  std::vector<char*> arguments;
  for (const std::string& word : command) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  std::array<int, 2> ends{};
  if (pipe2(ends.data(), O_CLOEXEC) != 0) return;
  pid_ = fork();
  if (pid_ == 0) {
    dup2(ends[1], STDOUT_FILENO);
    execv(arguments[0], arguments.data());
    _exit(127);
  }
  close(ends[1]);
  output_ = ends[0];
}

ChildProcess::~ChildProcess() {
  if (pid_ > 0) {
    kill(pid_, SIGKILL);
    waitpid(pid_, nullptr, 0);
  }
  if (output_ >= 0) close(output_);
}

std::string ChildProcess::ReadLine() {
  for (;;) {
    const std::size_t end = read_.find('\n');
    if (end != std::string::npos) {
      const std::string line = read_.substr(0, end);
      read_.erase(0, end + 1);
      return line;
    }
    pollfd polled{output_, POLLIN, 0};
    if (poll(&polled, 1, kPatienceMs) <= 0) return "(silent)";
    std::array<char, 512> buffer;
    const ssize_t size = read(output_, buffer.data(), buffer.size());
    if (size <= 0) return "(ended)";
    read_.append(buffer.data(), static_cast<std::size_t>(size));
  }
}

void ChildProcess::Interrupt() { kill(pid_, SIGINT); }

int ChildProcess::WaitForEnd() {
  for (int waited_ms = 0; pid_ > 0; waited_ms += 10) {
    int status = 0;
    if (waitpid(pid_, &status, WNOHANG) == pid_) {
      pid_ = -1;
      return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    }
    if (waited_ms >= kPatienceMs) kill(pid_, SIGKILL);
    poll(nullptr, 0, 10);
  }
  return -1;
}

}  // namespace drycrank::io
