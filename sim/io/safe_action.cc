// SPDX-License-Identifier: Apache-2.0
#include "io/safe_action.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <thread>
#include <tuple>
#include <utility>

#include "io/gpio_lines.h"
#include "protocol/scpi.h"
#include "types/plain_text.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

constexpr int kPatienceMs = 100;

PreparedAction Refused(std::string error) { return {nullptr, std::move(error)}; }

std::string Failed(const std::string& step) {
  return fmt::format("{}: {}", step, std::strerror(errno));
}

// All of it, waiting for room where there is none.
std::string WriteAll(int descriptor, std::string_view bytes, const std::string& where) {
  while (!bytes.empty()) {
    const ssize_t written = write(descriptor, bytes.data(), bytes.size());
    if (written > 0) {
      bytes.remove_prefix(AsSize(written));
      continue;
    }
    if (written < 0 && errno != EAGAIN && errno != EINTR) return Failed(where);
    pollfd room{descriptor, POLLOUT, 0};
    if (poll(&room, 1, kPatienceMs) == 0) return where + ": nobody takes it";
  }
  return "";
}

class SetLevel : public SafeAction {
 public:
  SetLevel(output::SafeLevel setting, Socket chip)
      : setting_(std::move(setting)), chip_(std::move(chip)) {}

  // The line is kept: what is released may float.
  std::string Act() override {
    held_ = GpioLines::Outputs(chip_.get(), {setting_.line}, setting_.high ? 1 : 0);
    if (held_.errno_value == 0) return "";
    return WhyNoLine(held_.errno_value, setting_.chip, setting_.line);
  }

 private:
  output::SafeLevel setting_;
  Socket chip_;
  GpioLines::Opened held_;
};

PreparedAction PrepareFor(const output::SafeLevel& setting) {
  const FoundChip found = FindGpioChip(setting.chip);
  if (!found.error.empty()) return Refused(found.error);
  if (setting.line >= found.chip.lines) {
    return Refused(fmt::format("{} has lines 0 to {}, and no {}", setting.chip,
                               found.chip.lines - 1, setting.line));
  }
  Socket chip(::open(found.chip.path.c_str(), O_RDWR | O_CLOEXEC));
  if (!chip.is_open()) return Refused(Failed(found.chip.path));
  return {std::make_unique<SetLevel>(setting, std::move(chip)), ""};
}

class WriteText : public SafeAction {
 public:
  WriteText(output::SafeText setting, Socket file)
      : setting_(std::move(setting)), file_(std::move(file)) {}

  // A pipe has no place to go back to; a file of the kernel's has no length.
  std::string Act() override {
    if (lseek(file_.get(), 0, SEEK_SET) == 0) std::ignore = ftruncate(file_.get(), 0);
    return WriteAll(file_.get(), setting_.text, setting_.path);
  }

 private:
  output::SafeText setting_;
  Socket file_;
};

PreparedAction PrepareFor(const output::SafeText& setting) {
  Socket file(::open(setting.path.c_str(), O_WRONLY | O_CLOEXEC | O_NONBLOCK));
  if (!file.is_open()) return Refused(Failed(setting.path));
  return {std::make_unique<WriteText>(setting, std::move(file)), ""};
}

struct HostAddress {
  sockaddr_storage address{};
  socklen_t size = 0;
};

class SendRequest : public SafeAction {
 public:
  SendRequest(output::SafeRequest setting, HostAddress address)
      : setting_(std::move(setting)), address_(address) {}

  // The connection is kept until the end: an instrument may drop a request of who has left. Tried again it
  // goes on listening to it, for an instrument may need longer than one try.
  std::string Act() override {
    std::string why = socket_.is_open() ? "" : Say();
    if (why.empty() && !setting_.question.empty()) why = Listen();
    if (why.empty() || setting_.question.empty()) return why;
    return why + "; take its plug out";
  }

 private:
  std::string Where() const { return fmt::format("{}:{}", setting_.host, setting_.port); }

  // A new connection, and all that is to be said on it.
  std::string Say() {
    read_.clear();
    std::string why = Connect();
    if (why.empty()) why = SayAgain();
    if (!why.empty()) socket_.Close();
    return why;
  }

  std::string SayAgain() {
    const std::string& question = setting_.question;
    return WriteAll(socket_.get(), setting_.line + "\n" + (question.empty() ? "" : question + "\n"), Where());
  }

  // An answer is to a question behind the order, so the first 0 will do.
  std::string Listen() {
    pollfd answered{socket_.get(), POLLIN, 0};
    if (poll(&answered, 1, kPatienceMs) <= 0) return Where() + " does not answer " + setting_.question;
    std::array<char, 256> piece;
    const ssize_t size = recv(socket_.get(), piece.data(), piece.size(), 0);
    if (size <= 0) {
      socket_.Close();
      return Where() + " has closed the connection and not answered " + setting_.question;
    }
    read_.append(piece.data(), AsSize(size));
    return Judge();
  }

  // One that is on still is told again, after a pause.
  std::string Judge() {
    std::string answer;
    for (auto end = read_.find('\n'); end != std::string::npos; end = read_.find('\n')) {
      answer = read_.substr(0, end);
      if (answer.ends_with('\r')) answer.pop_back();
      if (protocol::SaysOff(answer)) return "";
      read_.erase(0, end + 1);
    }
    if (answer.empty()) return Where() + " has not answered " + setting_.question + " to the end";
    std::this_thread::sleep_for(std::chrono::milliseconds(kPatienceMs / 2));
    if (!SayAgain().empty()) socket_.Close();
    return fmt::format("{} answers {} to {}", Where(), OneLine(answer), setting_.question);
  }

  std::string Connect() {
    const std::string where = Where();
    socket_ =
        Socket(::socket(address_.address.ss_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
    const auto* address = reinterpret_cast<const sockaddr*>(&address_.address);
    if (connect(socket_.get(), address, address_.size) != 0) {
      if (errno != EINPROGRESS) return Failed(where);
      pollfd connected{socket_.get(), POLLOUT, 0};
      if (poll(&connected, 1, kPatienceMs) == 0) return where + ": no answer";
      int error = 0;
      socklen_t size = sizeof(error);
      getsockopt(socket_.get(), SOL_SOCKET, SO_ERROR, &error, &size);
      if ((errno = error) != 0) return Failed(where);
    }
    return "";
  }

  output::SafeRequest setting_;
  HostAddress address_;
  Socket socket_;
  std::string read_;  // and not yet judged
};

PreparedAction PrepareFor(const output::SafeRequest& setting) {
  addrinfo wanted{}, *found = nullptr;
  wanted.ai_socktype = SOCK_STREAM;
  const std::string port = std::to_string(setting.port);
  if (const int error = getaddrinfo(setting.host.c_str(), port.c_str(), &wanted, &found)) {
    return Refused(fmt::format("{}: {}", setting.host, gai_strerror(error)));
  }
  HostAddress address;
  std::memcpy(&address.address, found->ai_addr, found->ai_addrlen);
  address.size = found->ai_addrlen;
  freeaddrinfo(found);
  return {std::make_unique<SendRequest>(setting, address), ""};
}

}  // namespace

PreparedAction Prepare(const output::SafeSetting& setting) {
  return std::visit([](const auto& kind) { return PrepareFor(kind); }, setting);
}

}  // namespace drycrank::io
