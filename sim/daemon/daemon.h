// SPDX-License-Identifier: Apache-2.0
//
// A bench run live: one io_context that releases what is due, takes what the interfaces receive,
// serves the control socket, and goes down cleanly on SIGTERM or SIGINT.
#ifndef DRYCRANK_DAEMON_DAEMON_H_
#define DRYCRANK_DAEMON_DAEMON_H_

#include <sys/types.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdint>
#include <functional>
#include <list>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "daemon/connection.h"
#include "daemon/handler.h"
#include "profile/bench.h"
#include "run/runner.h"
#include "types/clock.h"

namespace drycrank::daemon {

// The socket's path is wrong, or somebody else's.
class SocketRefused : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

// A scenario without expectations whose one step never ends.
profile::Scenario LiveScenario();

class Daemon {
 public:
  // All must outlive it. The clock must be the one the interfaces take their times from. The socket
  // is for its user alone. One left behind by a daemon that is gone is replaced; for one that answers,
  // and for whatever else is there by that name, it throws SocketRefused, and std::runtime_error when
  // the system refuses.
  Daemon(const profile::Bench& bench, run::Runner& runner,
         const std::vector<bus::CanBus*>& interfaces, Clock& clock, const std::string& socket_path,
         std::function<Kept()> kept = {}, TimeNs longest_drive_ns = kNever);
  ~Daemon();

  // Outputs of the bench that are driven, too; they must outlive it. Before Run.
  void Drive(LiveOutputs& outputs) {
    outputs_ = &outputs;
    handler_.Drive(outputs);
  }
  // What somebody arms while it runs is kept so (Handler). Before Run.
  void KeepArmed(Handler::WhenArmed keep) { handler_.KeepArmed(std::move(keep)); }
  // Until a signal or "stop", or until an output fails. The runner has been started, and is finished on return.
  void Run();

 private:
  void Accept();
  // An interface that went and came has another descriptor afterwards.
  struct Watched {
    const bus::CanBus* bus = nullptr;
    boost::asio::posix::stream_descriptor descriptor;
    unsigned long inode = 0;  // of the socket; 0: none
  };
  void WatchInterfaces();
  void Watch(Watched& watched);
  void Release();
  bool CatchUp();
  void SayBehind(TimeNs behind_ns);
  void Stop(const std::string& why);

  run::Runner& runner_;
  Clock& clock_;
  boost::asio::io_context io_;
  std::string socket_path_;
  boost::asio::local::stream_protocol::acceptor acceptor_;
  ino_t socket_inode_;
  boost::asio::steady_timer timer_, accept_again_;
  boost::asio::signal_set signals_;
  std::list<Watched> watched_;  // each stays where it is: a wait holds on to it
  EngineView engine_;
  LiveOutputs* outputs_ = nullptr;
  Handler handler_;
  std::vector<std::weak_ptr<Connection>> connections_;
  std::uint64_t clients_ = 0;
  bool stopping_ = false;
  bool is_behind_ = false;  // and it has been said
  std::string why_stopped_;
};

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_DAEMON_H_
