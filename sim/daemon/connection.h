// SPDX-License-Identifier: Apache-2.0
//
// One client on the control socket: lines in, replies out, in order. What it drives ends with it, and what
// it asked for is not begun when it is gone before: a daemon that stood still does nothing late. Bounded: a client that sends a
// line without end is answered once and cut off; of a watch the next line is made when the last one is with the system.
#ifndef DRYCRANK_DAEMON_CONNECTION_H_
#define DRYCRANK_DAEMON_CONNECTION_H_

#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/streambuf.hpp>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "daemon/handler.h"

namespace drycrank::daemon {

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  using Socket = boost::asio::local::stream_protocol::socket;
  // `number` is no other's.
  Connection(Socket socket, Handler& handler, std::uint64_t number);
  void Start() { Read(); }
  void Close();

 private:
  void Read();
  void Take(std::string line);
  void Answer(const std::string& line);
  bool IsGone();
  void Write(std::string reply, bool then_close);
  void Written(bool then_close);
  void WatchOn();
  void Gone();

  Socket socket_;
  Handler& handler_;
  std::uint64_t number_;
  boost::asio::streambuf buffer_;
  std::string reply_;
  boost::asio::steady_timer timer_;
  std::optional<std::chrono::milliseconds> watch_;  // a line so often
  bool reading_ = false, writing_ = false;
  std::optional<std::string> waiting_;  // came while a line was on its way
};

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_CONNECTION_H_
