// SPDX-License-Identifier: Apache-2.0
#include "daemon/connection.h"

#include <poll.h>

#include <boost/asio/read_until.hpp>
#include <boost/asio/write.hpp>
#include <istream>

namespace drycrank::daemon {

Connection::Connection(Socket socket, Handler& handler, std::uint64_t number)
    : socket_(std::move(socket)), handler_(handler), number_(number), buffer_(kLongestLine + 2) {}

void Connection::Close() {
  boost::system::error_code ignored;
  socket_.close(ignored);
}

void Connection::Read() {
  boost::asio::async_read_until(
      socket_, buffer_, '\n',
      [self = shared_from_this()](const boost::system::error_code& error, std::size_t) {
        if (error == boost::asio::error::not_found) {  // no line end within the longest line
          self->Write(
              self->handler_.Reply(ParseRequest(std::string(kLongestLine + 1, ' ')), self->number_),
              true);
          return;
        }
        if (error) return self->handler_.Gone(self->number_);
        std::istream in(&self->buffer_);
        std::string line;
        std::getline(in, line);
        const Request request = ParseRequest(line);
        if (Drives(request) && self->IsGone()) {
          self->handler_.TooLate(line);
          return self->Read();
        }
        self->Write(self->handler_.Reply(request, self->number_), false);
      });
}

// Both ways shut; who has only said all that it has to say still waits for the answer.
bool Connection::IsGone() {
  pollfd asked{socket_.native_handle(), 0, 0};
  return ::poll(&asked, 1, 0) == 1 && (asked.revents & POLLHUP) != 0;
}

void Connection::Write(std::string reply, bool then_close) {
  reply_ = std::move(reply);
  boost::asio::async_write(
      socket_, boost::asio::buffer(reply_),
      [self = shared_from_this(), then_close](const boost::system::error_code& error, std::size_t) {
        if (error) return self->handler_.Gone(self->number_);
        if (then_close) {
          self->handler_.Gone(self->number_);
          self->Close();
        } else {
          self->Read();
        }
      });
}

}  // namespace drycrank::daemon
