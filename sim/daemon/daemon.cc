// SPDX-License-Identifier: Apache-2.0
#include "daemon/daemon.h"

#include <fmt/format.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstring>
#include <fstream>
#include <thread>

namespace drycrank::daemon {
namespace asio = boost::asio;
namespace {

using Local = asio::local::stream_protocol;

std::string Trouble(const std::string& path, const boost::system::error_code& error) {
  return fmt::format("control socket {}: {}", path, error.message());
}

constexpr TimeNs kStepNs = 2 * kNsPerMs;          // of the bench's time
constexpr TimeNs kLongestTurnNs = 20 * kNsPerMs;  // of real time
constexpr TimeNs kBehindNs = kNsPerS / 2;

// The inode of the socket at `path`; 0: there is nothing. Throws when what lies there is no socket:
// that is somebody's file.
ino_t SocketAt(const std::string& path) {
  struct stat facts {};
  if (::lstat(path.c_str(), &facts) != 0) return 0;
  if (S_ISSOCK(facts.st_mode)) return facts.st_ino;
  throw SocketRefused(
      fmt::format("control socket {}: there is a {} of that name, which stays as it is; give "
                  "another --socket",
                  path, S_ISDIR(facts.st_mode) ? "folder" : "file"));
}

std::string PeerOf(Local::socket& answering) {
  ucred peer{};
  socklen_t size = sizeof(peer);
  if (::getsockopt(answering.native_handle(), SOL_SOCKET, SO_PEERCRED, &peer, &size) != 0)
    return "";
  return fmt::format(" (process {})", peer.pid);
}

// Does somebody take us in? EAGAIN: nobody within two seconds, though one listens (its queue is full). Not by
// the library, which waits for ever then, or takes it for a connection.
int Probe(Local::socket& probe, const std::string& path) {
  boost::system::error_code error;
  probe.open(Local(), error);
  if (!error) probe.non_blocking(true, error);
  if (error) return error.value();
  const Local::endpoint place(path);
  for (int i = 0; i < 20; ++i) {
    if (::connect(probe.native_handle(), place.data(), static_cast<socklen_t>(place.size())) == 0) {
      return 0;
    }
    if (errno != EAGAIN) return errno;
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
  }
  return EAGAIN;
}

// Does a process that lives have a socket of that name? As /proc/net/unix lists them (proc(5)): the last
// word is the path, as whoever made it wrote it; from another folder it is known by its last part.
bool IsBound(const std::string& path) {
  const std::string name = path.substr(path.rfind('/') + 1);
  std::ifstream sockets("/proc/net/unix");
  for (std::string line; std::getline(sockets, line);) {
    const auto at = line.rfind(' ');
    if (at == std::string::npos) continue;
    const std::string bound = line.substr(at + 1);
    if (bound == path || (!bound.empty() && bound[0] != '/' && bound[0] != '@' &&
                          bound.substr(bound.rfind('/') + 1) == name))
      return true;
  }
  return false;
}

// Makes the control socket, for its user alone. One that nobody answers on is replaced: its daemon is
// gone. One that somebody answers on, and whatever is no socket, is left alone.
Local::acceptor Listen(asio::io_context& io, const std::string& path) {
  constexpr std::size_t kLongest = sizeof(sockaddr_un::sun_path) - 1;
  if (path.empty() || path.size() > kLongest) {
    throw SocketRefused(fmt::format("control socket: a path has 1 to {} bytes, this one {}",
                                    kLongest, path.size()));
  }
  boost::system::error_code error;
  if (SocketAt(path) != 0) {
    Local::socket probe(io);
    const int refused = Probe(probe, path);
    if (refused == EAGAIN) {
      throw SocketRefused(
          fmt::format("control socket {}: somebody listens there and takes nobody in; give another "
                      "--socket, or "
                      "end that",
                      path));
    }
    if (refused == EPROTOTYPE) {
      throw SocketRefused(fmt::format(
          "control socket {}: it is a socket of another program, of another kind; give another "
          "--socket",
          path));
    }
    if (refused == 0) {
      throw SocketRefused(
          fmt::format("control socket {}: another drycrankd answers there{}; give another --socket",
                      path, PeerOf(probe)));
    }
    if (refused == ECONNREFUSED && IsBound(path)) {
      throw SocketRefused(
          fmt::format("control socket {}: another program has it, and does not listen yet; give "
                      "another --socket",
                      path));
    }
    if (refused == ECONNREFUSED) ::unlink(path.c_str());
  }
  Local::acceptor acceptor(io);
  acceptor.open(Local(), error);
  if (!error) acceptor.bind(Local::endpoint(path), error);
  if (error) throw std::runtime_error(Trouble(path, error));
  // Nobody can connect before it listens.
  if (::chmod(path.c_str(), S_IRUSR | S_IWUSR) != 0)
    error.assign(errno, asio::error::get_system_category());
  if (!error) acceptor.listen(asio::socket_base::max_listen_connections, error);
  if (error) throw std::runtime_error(Trouble(path, error));
  return acceptor;
}

// Under nohup a hangup is not to end anything.
bool IsIgnored(int signal) {
  struct sigaction action {};
  return ::sigaction(signal, nullptr, &action) == 0 && action.sa_handler == SIG_IGN;
}

}  // namespace

profile::Scenario LiveScenario() {
  profile::Scenario scenario;
  scenario.name = "live";
  scenario.title = "Bench run live";
  scenario.steps.resize(1);
  scenario.steps[0].name = "live";
  scenario.steps[0].for_s = 1e9;
  return scenario;
}

Daemon::Daemon(const profile::Bench& bench, run::Runner& runner,
               const std::vector<bus::CanBus*>& interfaces, Clock& clock,
               const std::string& socket_path, std::function<Kept()> kept, TimeNs longest_drive_ns)
    : runner_(runner),
      clock_(clock),
      socket_path_(socket_path),
      acceptor_(Listen(io_, socket_path)),
      socket_inode_(SocketAt(socket_path)),
      timer_(io_),
      accept_again_(io_),
      signals_(io_, SIGINT, SIGTERM),
      engine_(bench),
      handler_(
          bench, runner, interfaces, [this] { Stop("stopped by request"); }, std::move(kept),
          longest_drive_ns) {
  runner.AddObserver(&engine_);
  handler_.Show(engine_);
  if (!IsIgnored(SIGHUP)) signals_.add(SIGHUP);
  for (const bus::CanBus* outside : interfaces) {
    if (outside != nullptr) watched_.push_back({outside, asio::posix::stream_descriptor(io_), 0});
  }
}

// Another may have been put in its place since.
Daemon::~Daemon() {
  struct stat facts {};
  if (::lstat(socket_path_.c_str(), &facts) != 0 || facts.st_ino != socket_inode_) return;
  ::unlink(socket_path_.c_str());
}

void Daemon::Run() {
  signals_.async_wait([this](const boost::system::error_code& error, int signal) {
    if (!error) Stop(std::string("stopped by ") + sigabbrev_np(signal));
  });
  Accept();
  runner_.StartClock(clock_);
  Release();
  io_.run();
  runner_.Finish(runner_.now_ns(), why_stopped_);
}

void Daemon::Accept() {
  acceptor_.async_accept([this](const boost::system::error_code& error, Local::socket socket) {
    if (stopping_) return;
    if (!error) {
      std::erase_if(connections_, [](const auto& weak) { return weak.expired(); });
      auto connection = std::make_shared<Connection>(std::move(socket), handler_, ++clients_);
      connections_.push_back(connection);
      connection->Start();
      return Accept();
    }
    // No descriptor is left, perhaps: asking again at once would take a whole processor.
    accept_again_.expires_after(std::chrono::milliseconds(100));
    accept_again_.async_wait([this](const boost::system::error_code& cancelled) {
      if (!cancelled) Accept();
    });
  });
}

void Daemon::WatchInterfaces() {
  for (Watched& watched : watched_) {
    const int now = watched.bus->FileDescriptor();
    struct stat facts {};
    const unsigned long inode = now >= 0 && ::fstat(now, &facts) == 0 ? facts.st_ino : 0;
    if (inode == watched.inode) continue;
    boost::system::error_code ignored;
    watched.descriptor.close(ignored);
    watched.inode = inode;
    if (inode == 0) continue;
    watched.descriptor.assign(::dup(now), ignored);
    Watch(watched);
  }
}

void Daemon::Watch(Watched& watched) {
  const unsigned long inode = watched.inode;
  watched.descriptor.async_wait(asio::posix::stream_descriptor::wait_read,
                                [this, &watched, inode](const boost::system::error_code& error) {
                                  if (error || stopping_ || inode != watched.inode) return;
                                  if (!is_behind_) runner_.Poll(clock_.Now());
                                  Watch(watched);
                                });
}

// Everything due by now, in steps, for so long and no longer: requests and signals have their turn in
// between, however much there is to do. True: all of it is done.
bool Daemon::CatchUp() {
  const TimeNs began_ns = clock_.Now();
  for (TimeNs now_ns = began_ns; now_ns - began_ns <= kLongestTurnNs; now_ns = clock_.Now()) {
    const TimeNs to_ns = std::min(now_ns, runner_.now_ns() + kStepNs);
    runner_.Poll(to_ns, to_ns == now_ns);
    runner_.RunTo(to_ns);
    if (to_ns == now_ns || runner_.finished()) return true;
  }
  return false;
}

void Daemon::SayBehind(TimeNs behind_ns) {
  handler_.SetBehind(std::max<TimeNs>(behind_ns, 0));
  if (is_behind_ && behind_ns < kBehindNs / 10) {
    is_behind_ = false;
    return runner_.Remark("in real time again");
  }
  if (is_behind_ || behind_ns < kBehindNs) return;
  is_behind_ = true;
  runner_.Remark(
      "behind real time: there is more to do than this computer can; everything comes late from "
      "here on");
}

// Then asleep until the next due instant.
void Daemon::Release() {
  if (stopping_) return;
  const bool is_done = CatchUp();
  SayBehind(is_done ? 0 : clock_.Now() - runner_.now_ns());
  handler_.EndOverdue();
  WatchInterfaces();
  runner_.Prepare();
  if (runner_.finished()) return Stop("");
  if (const std::string why = outputs_ == nullptr ? "" : outputs_->failure(); !why.empty()) {
    return Stop("error: " + why);
  }
  const TimeNs wait_ns = std::clamp<TimeNs>(runner_.NextDueNs() - clock_.Now(), 0, kNsPerS);
  timer_.expires_after(std::chrono::nanoseconds(wait_ns));
  timer_.async_wait([this](const boost::system::error_code& error) {
    if (!error) Release();
  });
}

void Daemon::Stop(const std::string& why) {
  why_stopped_ = why;
  stopping_ = true;
  handler_.BeginToEnd();
  boost::system::error_code ignored;
  acceptor_.close(ignored);
  signals_.cancel(ignored);
  timer_.cancel(ignored);
  accept_again_.cancel(ignored);
  for (Watched& watched : watched_) watched.descriptor.close(ignored);
  // The reply to "stop" is still to be written: connections close after it.
  asio::post(io_, [this] {
    for (const auto& weak : connections_) {
      if (const auto connection = weak.lock()) connection->Close();
    }
  });
}

}  // namespace drycrank::daemon
