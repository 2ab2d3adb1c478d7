// SPDX-License-Identifier: Apache-2.0
#include "io/text_line.h"

#include <fmt/format.h>
#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <memory>

#include "types/nth.h"

namespace drycrank::io {
namespace {

constexpr std::size_t kLongestAnswer = 64 << 10;

bool Comes(int descriptor, short what, std::chrono::milliseconds patience) {
  pollfd polled{descriptor, what, 0};
  return poll(&polled, 1, static_cast<int>(patience.count())) > 0;
}

// 0, or errno.
int ConnectWithin(const Socket& socket, const addrinfo& to, std::chrono::milliseconds patience) {
  if (connect(socket.get(), to.ai_addr, to.ai_addrlen) == 0) return 0;
  if (errno != EINPROGRESS) return errno;
  if (!Comes(socket.get(), POLLOUT, patience)) return ETIMEDOUT;
  int error = 0;
  socklen_t size = sizeof(error);
  getsockopt(socket.get(), SOL_SOCKET, SO_ERROR, &error, &size);
  return error;
}

}  // namespace

std::string TextLine::Connect(const std::string& host, int port,
                              std::chrono::milliseconds patience) {
  where_ = fmt::format("{}:{}", host, port);
  patience_ = patience;
  read_.clear();
  addrinfo wanted{}, *found = nullptr;
  wanted.ai_socktype = SOCK_STREAM;
  if (const int error = getaddrinfo(host.c_str(), std::to_string(port).c_str(), &wanted, &found)) {
    return fmt::format("{}: {}", where_, gai_strerror(error));
  }
  const std::unique_ptr<addrinfo, void (*)(addrinfo*)> addresses(found, freeaddrinfo);
  socket_ = Socket(::socket(found->ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
  const int error = ConnectWithin(socket_, *found, patience_);
  if (error == 0) return "";
  return Fail(fmt::format("{}; is it switched on, and does another program have it?",
                          std::strerror(error)));
}

std::string TextLine::Fail(const std::string& why) {
  socket_.Close();
  return where_ + ": " + why;
}

std::string TextLine::Say(std::string_view line) {
  if (!is_open()) return where_ + ": not connected";
  const std::string text = std::string(line) + "\n";
  std::string_view rest = text;
  while (!rest.empty()) {
    const ssize_t sent = send(socket_.get(), rest.data(), rest.size(), MSG_NOSIGNAL);
    if (sent > 0)
      rest.remove_prefix(AsSize(sent));
    else if (errno != EAGAIN && errno != EINTR)
      return Fail(std::strerror(errno));
    else if (!Comes(socket_.get(), POLLOUT, patience_))
      return Fail("it takes nothing");
  }
  return "";
}

TextLine::Answer TextLine::Ask(std::string_view line) {
  if (std::string why = Say(line); !why.empty()) return {"", std::move(why)};
  Answer answer = ReadLine();
  if (!answer.error.empty()) answer.error = Fail(fmt::format("{}: {}", line, answer.error));
  return answer;
}

TextLine::Answer TextLine::ReadLine() {
  const auto end = std::chrono::steady_clock::now() + patience_;
  for (;;) {
    if (const auto newline = read_.find('\n'); newline != std::string::npos) {
      std::string line = read_.substr(0, newline);
      read_.erase(0, newline + 1);
      if (line.ends_with('\r')) line.pop_back();
      return {std::move(line), ""};
    }
    if (read_.size() > kLongestAnswer) return {"", "an answer without an end"};
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
        end - std::chrono::steady_clock::now());
    if (left.count() <= 0 || !Comes(socket_.get(), POLLIN, left)) return {"", "no answer"};
    std::array<char, 4096> piece;
    const ssize_t size = recv(socket_.get(), piece.data(), piece.size(), 0);
    if (size == 0) return {"", "it has closed the connection"};
    if (size > 0)
      read_.append(piece.data(), AsSize(size));
    else if (errno != EAGAIN && errno != EINTR)
      return {"", std::strerror(errno)};
  }
}

}  // namespace drycrank::io
