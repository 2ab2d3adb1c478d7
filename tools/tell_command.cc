// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstring>

#include "tools/commands.h"
#include "types/nth.h"
#include "types/plain_text.h"
#include "types/unit.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string socket = "drycrank.sock";
  std::vector<std::string> words;
  std::vector<std::string> hold_for;  // "10 s", or "10" "s"
  bool leave = false;
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

// In one line: another would be another request.
std::string Joined(const std::vector<std::string>& words) {
  return OneLine(fmt::format("{}", fmt::join(words, " ")));
}

bool IsDrive(const std::string& request) {
  return request.starts_with("set ") || request.starts_with("ramp ") ||
         request.starts_with("crank ");
}

bool IsWatch(const std::string& request) {
  return request == "watch" || request.starts_with("watch ");
}

// Seconds; negative when it is no time.
double HoldS(const Options& options) {
  const auto time = ParseNumberWithUnit(Joined(options.hold_for));
  const auto seconds =
      time ? Convert(time->value, time->unit.empty() ? "s" : time->unit, "s") : std::nullopt;
  return seconds.value_or(-1);
}

// As long as the connection stands the daemon drives what it was told: until Ctrl-C (or whatever ends
// this process), until the time is over, or until the daemon ends.
int Hold(int fd, const Options& options) {
  CatchStopSignals();
  const bool forever = options.hold_for.empty();
  if (forever) {
    fmt::print(stderr,
               "held until Ctrl-C; --for 10 s holds for a time, --leave leaves it to drycrankd\n");
  }
  using Clock = std::chrono::steady_clock;
  const auto begin = Clock::now();
  const double hold_s = forever ? 0 : HoldS(options);
  while (!StopAsked()) {
    const double left_s = hold_s - std::chrono::duration<double>(Clock::now() - begin).count();
    if (!forever && left_s <= 0) break;
    pollfd watched{fd, POLLIN, 0};
    const double wait_ms = forever ? 1000 : std::min(1000.0, std::ceil(1000 * left_s));
    if (::poll(&watched, 1, static_cast<int>(wait_ms)) <= 0) continue;
    fmt::print(stderr, "drycrank tell: drycrankd has ended\n");
    return kBenchFailed;
  }
  return kAllMet;
}

// Line after line, as they come; as long as Hold.
int Follow(int fd, const Options& options) {
  CatchStopSignals();
  using Clock = std::chrono::steady_clock;
  const auto begin = Clock::now();
  const double for_s = options.hold_for.empty() ? 1e9 : HoldS(options);
  char piece[4096];
  while (!StopAsked()) {
    if (std::chrono::duration<double>(Clock::now() - begin).count() >= for_s) break;
    pollfd watched{fd, POLLIN, 0};
    if (::poll(&watched, 1, 100) <= 0) continue;
    const ssize_t got = ::recv(fd, piece, sizeof(piece), 0);
    if (got <= 0) {
      fmt::print(stderr, "drycrank tell: drycrankd has ended\n");
      return kBenchFailed;
    }
    std::fwrite(piece, 1, AsSize(got), stdout);
    std::fflush(stdout);
  }
  return kAllMet;
}

// One line to the daemon, one line back; empty: it did not come.
std::string Ask(int fd, const std::string& request) {
  const std::string line = request + "\n";
  if (::send(fd, line.data(), line.size(), MSG_NOSIGNAL) != static_cast<ssize_t>(line.size())) {
    return "";
  }
  std::string reply;
  char piece[4096];
  while (reply.empty() || reply.back() != '\n') {
    const ssize_t got = ::recv(fd, piece, sizeof(piece), 0);
    if (got <= 0) return "";
    reply.append(piece, AsSize(got));
  }
  return reply;
}

int Talk(int fd, const Options& options) {
  const std::string request = Joined(options.words);
  errno = 0;
  const std::string reply = Ask(fd, (options.leave ? "leave " : "") + request);
  if (reply.empty()) return errno == EAGAIN ? NoAnswer(options) : Fail(options, "ask");
  fmt::print("{}", reply);
  std::fflush(stdout);
  if (reply.find("\"ok\":true") == std::string::npos) return kBadInput;
  if (IsWatch(request)) return Follow(fd, options);
  const bool held = reply.find("\"held\":true") != std::string::npos;
  return held || (IsDrive(request) && !options.leave) ? Hold(fd, options) : kAllMet;
}

int Refuse(const std::string& problem) {
  fmt::print(stderr, "drycrank tell: {}\n", problem);
  return kBadInput;
}

int Tell(const Options& options) {
  const double hold_s = options.hold_for.empty() ? 1 : HoldS(options);
  if (!(hold_s >= 0.001 && hold_s <= 86400)) {
    return Refuse(fmt::format(
        "--for {}: write a time of 0.001 to 86400 s, as --for 10 s, at the end of the line",
        Joined(options.hold_for)));
  }
  const std::string request = Joined(options.words);
  if (options.leave && !IsDrive(request)) return Refuse("--leave is for set, ramp and crank");
  if (!options.hold_for.empty() && !IsDrive(request) && !IsWatch(request)) {
    return Refuse("--for is for set, ramp, crank and watch");
  }
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (options.socket.size() >= sizeof(address.sun_path)) {
    return Refuse(
        fmt::format("the socket's path is longer than {} bytes", sizeof(address.sun_path) - 1));
  }
  std::memcpy(address.sun_path, options.socket.data(), options.socket.size());
  const int fd = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (fd < 0 || !BePatient(fd)) return Fail(options, "socket");
  int exit_code = 0;
  if (::connect(fd, reinterpret_cast<const sockaddr*>(&address), sizeof(address)) == 0) {
    exit_code = Talk(fd, options);
  } else {
    exit_code = errno == EAGAIN ? NoAnswer(options) : Fail(options, "connect to");
  }
  ::close(fd);
  return exit_code;
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
  CLI::Option* hold = command->add_option(
      "--for", options->hold_for,
      "Hold a set, ramp or crank, or watch, for this time, instead of until Ctrl-C");
  hold->expected(1, 2)->type_name("TIME");
  command->add_flag("--leave", options->leave, "Return at once; drycrankd goes on with it")
      ->excludes(hold);
  command->footer(
      "set, ramp and crank hold while this command runs: when it ends, by Ctrl-C or because it "
      "died, the\n"
      "stimulus goes back to what it was when drycrankd began.\n\n"
      "Examples:\n"
      "  drycrank tell set coolant_temperature 90 degC\n"
      "  drycrank tell ramp engine_speed 3000 rpm in 2 s --for 10 s\n"
      "  drycrank tell set coolant_temperature 90 degC --leave\n"
      "  drycrank tell 'fault {name: open_clt, kind: open, at: CLT.1}'\n"
      "  drycrank tell clear open_clt\n"
      "  drycrank tell arm can0 by NAME\n"
      "  drycrank tell crank 220 rpm --for 5 s\n"
      "  drycrank tell status\n"
      "  drycrank tell watch every 200 ms");
  command->callback([options, &exit_code] { exit_code = Tell(*options); });
}

}  // namespace drycrank::tools
