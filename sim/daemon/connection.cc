// SPDX-License-Identifier: Apache-2.0
#include "daemon/connection.h"

#include <poll.h>

#include <boost/asio/read_until.hpp>
#include <boost/asio/write.hpp>
#include <istream>

namespace drycrank::daemon {

Connection::Connection(Socket socket, Handler& handler, std::uint64_t number)
    : socket_(std::move(socket)),
      handler_(handler),
      number_(number),
      buffer_(kLongestLine + 2),
      timer_(socket_.get_executor()) {}

void Connection::Close() {
  boost::system::error_code ignored;
  watch_.reset();
  timer_.cancel();
  socket_.close(ignored);
}

void Connection::Gone() {
  watch_.reset();
  timer_.cancel();
  handler_.Gone(number_);
}

void Connection::Read() {
  if (reading_) return;
  reading_ = true;
  boost::asio::async_read_until(
      socket_, buffer_, '\n',
      [self = shared_from_this()](const boost::system::error_code& error, std::size_t) {
        self->reading_ = false;
        if (error == boost::asio::error::not_found) {  // no line end within the longest line
          return self->Take(std::string(kLongestLine + 1, ' '));
        }
        if (error) return self->Gone();
        std::istream in(&self->buffer_);
        std::string line;
        std::getline(in, line);
        self->Take(std::move(line));
      });
}

// A request ends the watch before it.
void Connection::Take(std::string line) {
  watch_.reset();
  timer_.cancel();
  if (writing_) {
    waiting_ = std::move(line);
  } else {
    Answer(line);
  }
}

void Connection::Answer(const std::string& line) {
  const Request request = ParseRequest(line);
  if (Drives(request) && IsGone()) {
    handler_.TooLate(line);
    return Read();
  }
  std::string reply = handler_.Reply(request, number_);
  if (reply.starts_with(R"({"ok":true)")) watch_ = Handler::EveryOf(request);
  Write(std::move(reply), line.size() > kLongestLine);
}

// Both ways shut; who has only said all that it has to say still waits for the answer.
bool Connection::IsGone() {
  pollfd asked{socket_.native_handle(), 0, 0};
  return ::poll(&asked, 1, 0) == 1 && (asked.revents & POLLHUP) != 0;
}

void Connection::Write(std::string reply, bool then_close) {
  writing_ = true;
  reply_ = std::move(reply);
  boost::asio::async_write(
      socket_, boost::asio::buffer(reply_),
      [self = shared_from_this(), then_close](const boost::system::error_code& error, std::size_t) {
        self->writing_ = false;
        if (error) return self->Gone();
        self->Written(then_close);
      });
}

void Connection::Written(bool then_close) {
  if (then_close) {
    Gone();
    return Close();
  }
  if (waiting_) {
    const std::string line = *std::move(waiting_);
    waiting_.reset();
    return Answer(line);
  }
  if (watch_) WatchOn();
  Read();
}

void Connection::WatchOn() {
  timer_.expires_after(*watch_);
  timer_.async_wait([self = shared_from_this()](const boost::system::error_code& error) {
    if (error || !self->watch_ || self->writing_) return;
    self->Write(self->handler_.Watched(), false);
  });
}

}  // namespace drycrank::daemon
