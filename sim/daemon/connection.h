// SPDX-License-Identifier: Apache-2.0
//
// One client on the control socket: lines in, replies out, in order. What it drives ends with it, and what
// it asked for is not begun when it is gone before: a daemon that stood still does nothing late. Bounded: a client that sends a
// line without end is answered once and cut off.
#ifndef DRYCRANK_DAEMON_CONNECTION_H_
#define DRYCRANK_DAEMON_CONNECTION_H_

#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/streambuf.hpp>
#include <cstdint>
#include <memory>
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
  bool IsGone();
  void Write(std::string reply, bool then_close);

  Socket socket_;
  Handler& handler_;
  std::uint64_t number_;
  boost::asio::streambuf buffer_;
  std::string reply_;
};

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_CONNECTION_H_
