// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "tools/commands.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string socket = "drycrank.sock";
  std::vector<std::string> words;
};

int Fail(const Options& options, const char* step) {
  fmt::print(stderr, "drycrank tell: {} {}: {}; is drycrankd running there?\n", step,
             options.socket, std::strerror(errno));
  return kBenchFailed;
}

// A daemon that is well answers within milliseconds.
constexpr timeval kPatience{5, 0};

bool BePatient(int fd) {
  return ::setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &kPatience, sizeof(kPatience)) == 0 &&
         ::setsockopt(fd, SOL_SOCKET, SO_SNDTIMEO, &kPatience, sizeof(kPatience)) == 0;
}

int NoAnswer(const Options& options) {
  fmt::print(stderr,
             "drycrank tell: {} gave no answer within {} s; the daemon hangs, or it is not "
             "drycrankd that listens there\n",
             options.socket, kPatience.tv_sec);
  return kBenchFailed;
}

// One line to the daemon, one line back.
int Tell(const Options& options) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (options.socket.size() >= sizeof(address.sun_path)) {
    fmt::print(stderr, "drycrank tell: the socket's path is longer than {} bytes\n",
               sizeof(address.sun_path) - 1);
    return kBadInput;
  }
  std::memcpy(address.sun_path, options.socket.data(), options.socket.size());
  const int fd = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (fd < 0 || !BePatient(fd)) return Fail(options, "socket");
  if (::connect(fd, reinterpret_cast<const sockaddr*>(&address), sizeof(address)) != 0) {
    if (errno == EAGAIN) return NoAnswer(options);
    return Fail(options, "connect to");
  }
  std::string line;
  for (const std::string& word : options.words) line += (line.empty() ? "" : " ") + word;
  line += '\n';
  if (::send(fd, line.data(), line.size(), MSG_NOSIGNAL) != static_cast<ssize_t>(line.size())) {
    return Fail(options, "send to");
  }
  std::string reply;
  char piece[4096];
  while (reply.empty() || reply.back() != '\n') {
    const ssize_t got = ::recv(fd, piece, sizeof(piece), 0);
    if (got < 0 && errno == EAGAIN) return NoAnswer(options);
    if (got <= 0) break;
    reply.append(piece, static_cast<std::size_t>(got));
  }
  ::close(fd);
  fmt::print("{}", reply);
  if (reply.empty()) return kBenchFailed;
  return reply.find("\"ok\":true") == std::string::npos ? kBadInput : kAllMet;
}

}  // namespace

void AddTell(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("tell", "Give a running drycrankd a value, a fault, a question");
  command->add_option("--socket", options->socket, "Its control socket")
      ->type_name("PATH")
      ->capture_default_str();
  command->add_option("request", options->words, "The request")->required()->type_name("WORD...");
  command->footer(
      "Examples:\n"
      "  drycrank tell set coolant_temperature 90 degC\n"
      "  drycrank tell ramp engine_speed 3000 rpm in 2 s\n"
      "  drycrank tell 'fault {name: open_clt, kind: open, at: CLT.1}'\n"
      "  drycrank tell clear open_clt\n"
      "  drycrank tell status");
  command->callback([options, &exit_code] { exit_code = Tell(*options); });
}

}  // namespace drycrank::tools
