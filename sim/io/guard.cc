// SPDX-License-Identifier: Apache-2.0
#include "io/guard.h"

#include <fmt/format.h>
#include <poll.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <system_error>

#include "types/nth.h"

extern char** environ;

namespace drycrank::io {
namespace {

constexpr int kPatienceMs =
    5000;  // a name may have to be looked up, a setting tried for two seconds
constexpr const char* kName = "drycrank-guard";

// 0, or errno. `input` becomes its standard input.
int Spawn(const std::string& program, const std::string& limit_ms, int input, pid_t& process) {
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, input, STDIN_FILENO);
  std::string words[] = {program, "--limit-ms", limit_ms};
  char* arguments[] = {words[0].data(), words[1].data(), words[2].data(), nullptr};
  const int error = posix_spawn(&process, program.c_str(), &actions, nullptr, arguments, environ);
  posix_spawn_file_actions_destroy(&actions);
  return error;
}

}  // namespace

std::string Guard::Program() {
  std::error_code ignored;  // then there is no folder, and no such program
  const std::filesystem::path folder =
      std::filesystem::read_symlink("/proc/self/exe", ignored).parent_path();
  const std::filesystem::path beside = folder / kName;
  if (std::filesystem::exists(beside, ignored)) return beside.string();
  return (folder.parent_path() / "libexec/drycrank" / kName).string();
}

Guard::Started Guard::Start(const std::string& program, std::chrono::milliseconds limit) {
  std::array<int, 2> ends{};
  if (socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, ends.data()) != 0) {
    return {nullptr, fmt::format("a line to the guard: {}", std::strerror(errno))};
  }
  Socket mine(ends[0]);
  const Socket its(ends[1]);
  pid_t process = -1;
  if (const int error = Spawn(program, std::to_string(limit.count()), its.get(), process)) {
    return {nullptr,
            fmt::format("{}: {}; without it no output is driven", program, std::strerror(error))};
  }
  return {std::unique_ptr<Guard>(new Guard(std::move(mine), process)), ""};
}

Guard::~Guard() {
  if (armed_) std::ignore = Safe();
  line_.Close();
  waitpid(process_, nullptr, 0);
}

std::string Guard::Hold(const output::SafeSetting& setting) {
  return Ask("hold\t" + output::Line(setting), "held");
}

std::string Guard::Arm() {
  std::string why = Ask("arm", "armed");
  armed_ = why.empty();
  return why;
}

std::string Guard::Disarm() {
  std::string why = Ask("disarm", "disarmed");
  if (why.empty()) armed_ = false;
  return why;
}

std::string Guard::Safe() {
  armed_ = false;
  return Ask("safe", "safe");
}

bool Guard::Beat() { return Tell("beat"); }
bool Guard::BeSafe() { return Tell("safe"); }

bool Guard::Tell(std::string_view message) {
  return send(line_.get(), message.data(), message.size(), MSG_NOSIGNAL | MSG_DONTWAIT) > 0;
}

std::string Guard::Ask(std::string_view message, std::string_view wanted) {
  if (!Tell(message)) return fmt::format("the guard is gone: {}", std::strerror(errno));
  pollfd answered{line_.get(), POLLIN, 0};
  if (poll(&answered, 1, kPatienceMs) <= 0) return "the guard does not answer";
  std::array<char, 4096> text;
  const ssize_t size = recv(line_.get(), text.data(), text.size(), 0);
  if (size <= 0) return "the guard is gone";
  const std::string_view answer(text.data(), AsSize(size));
  return answer == wanted ? "" : std::string(answer);
}

}  // namespace drycrank::io
