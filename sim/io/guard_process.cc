// SPDX-License-Identifier: Apache-2.0
#include "io/guard_process.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "io/go_first.h"
#include "io/safe_action.h"
#include "io/socket.h"
#include "io/watchdog.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

using std::chrono::milliseconds;
using SteadyTime = std::chrono::steady_clock::time_point;

constexpr int kPriority = 47;  // before the watchdog's, below the kernel's own threads
constexpr milliseconds kTriedFor{2000}, kTriedEach{2};
constexpr int kOwnerEndsMs = 50;
constexpr std::size_t kStackBytes = 256 << 10;  // of a post; all are locked into memory
constexpr std::size_t kLongestMessage = 4096;

// One setting and the thread that waits for its moment.
class Post {
 public:
  Post(output::SafeSetting setting, std::unique_ptr<SafeAction> action)
      : setting_(std::move(setting)), action_(std::move(action)), thread_([this] { Run(); }) {}
  ~Post() {
    Order(kLeave);
    thread_.join();
  }

  void Act() { Order(kAct); }
  bool is_done() const { return done_.load(std::memory_order_acquire); }
  // REQUIRES: is_done(). Empty: it is safe.
  std::string Failure() const { return why_.empty() ? "" : output::Words(setting_) + ": " + why_; }
  std::string UnderWay() const { return output::Words(setting_) + ": still under way"; }

 private:
  enum Orders { kWait, kAct, kLeave };

  void Order(Orders order) {
    int waiting = kWait;
    order_.compare_exchange_strong(waiting, order);
    order_.notify_all();
  }

  void Run() {
    order_.wait(kWait);
    if (order_ == kLeave) return;
    const SteadyTime end = std::chrono::steady_clock::now() + kTriedFor;
    for (;;) {
      why_ = action_->Act();
      if (why_.empty() || std::chrono::steady_clock::now() > end) break;
      std::this_thread::sleep_for(kTriedEach);
    }
    done_.store(true, std::memory_order_release);
  }

  output::SafeSetting setting_;
  std::unique_ptr<SafeAction> action_;
  std::atomic<int> order_ = kWait;
  std::atomic<bool> done_ = false;
  std::string why_;
  std::thread thread_;  // the last, for it uses the others
};

// The parent, as a handle that no other process can take over; not open if it is gone already.
Socket HandleOf(int owner) {
  ucred peer{};
  socklen_t size = sizeof(peer);
  if (getsockopt(owner, SOL_SOCKET, SO_PEERCRED, &peer, &size) != 0) return Socket();
  Socket handle(static_cast<int>(syscall(SYS_pidfd_open, getppid(), 0)));
  return peer.pid == getppid() ? std::move(handle) : Socket();
}

class GuardProcess {
 public:
  GuardProcess(int owner, milliseconds limit)
      : owner_(owner), handle_(HandleOf(owner)), limit_(limit), step_(limit / Heartbeat::kSteps) {}

  int Run() {
    SteadyTime due = std::chrono::steady_clock::now() + step_;
    while (!ended_) {
      pollfd polled{owner_, POLLIN, 0};
      poll(&polled, 1, static_cast<int>(step_.count()));
      while (!ended_ && TakeMessage()) {
      }
      const SteadyTime now = std::chrono::steady_clock::now();
      if (now < due || ended_) continue;
      due = now + step_;
      if (heart_.Step()) OnSilence();
    }
    return Report();
  }

 private:
  // False: there is none at the moment.
  bool TakeMessage() {
    std::array<char, kLongestMessage> text;
    const ssize_t size = recv(owner_, text.data(), text.size(), MSG_DONTWAIT);
    if (size < 0 && (errno == EAGAIN || errno == EINTR)) return false;
    if (size <= 0) {
      OnClosed();
    } else {
      Take({text.data(), AsSize(size)});
    }
    return true;
  }

  void Take(std::string_view message) {
    if (message == "beat") {
      if (armed_) heart_.Beat();
    } else if (message.starts_with("hold\t")) {
      Answer(Hold(message.substr(5)));
    } else if (message == "arm") {
      Answer(Arm());
    } else if (message == "disarm") {
      armed_ = false;
      heart_.Rest();
      Answer("disarmed");
    } else if (message == "safe") {
      Act("asked to");
      Answer(Failures().empty() ? "safe" : fmt::format("{}", fmt::join(Failures(), "; ")));
      ended_ = true;
    } else {
      Answer(fmt::format("\"{}\" is no message to a guard", message));
    }
  }

  std::string Hold(std::string_view line) {
    output::ReadSetting read = output::ParseSafeSetting(line);
    if (!read.error.empty()) return read.error;
    PreparedAction prepared = Prepare(read.setting);
    if (!prepared.error.empty()) return prepared.error;
    posts_.push_back(std::make_unique<Post>(std::move(read.setting), std::move(prepared.action)));
    return "held";
  }

  // Memory that the kernel has put aside would have to come back first.
  std::string Arm() {
    if (!handle_.is_open()) return "the guard does not know whom it watches";
    mlockall(MCL_CURRENT);  // refused: it has to do without
    armed_ = true;
    heart_.Beat();
    return "armed";
  }

  void OnClosed() {
    ended_ = true;
    if (armed_) Act("the program that drove them is gone");
  }

  void OnSilence() {
    ended_ = true;
    syscall(SYS_pidfd_send_signal, handle_.get(), SIGKILL, nullptr, 0);
    pollfd gone{handle_.get(), POLLIN, 0};
    poll(&gone, 1, kOwnerEndsMs);
    Act(fmt::format("the program that drove them gave no sign of life for {} ms and was ended",
                    limit_.count()));
  }

  void Act(std::string why) {
    why_ = std::move(why);
    for (const auto& post : posts_) post->Act();
    const SteadyTime end = std::chrono::steady_clock::now() + kTriedFor + kTriedFor / 10;
    for (const auto& post : posts_) {
      while (!post->is_done() && std::chrono::steady_clock::now() < end) {
        std::this_thread::sleep_for(kTriedEach);
      }
    }
  }

  std::vector<std::string> Failures() const {
    std::vector<std::string> failures;
    for (const auto& post : posts_) {
      if (!post->is_done())
        failures.push_back(post->UnderWay());
      else if (!post->Failure().empty())
        failures.push_back(post->Failure());
    }
    return failures;
  }

  // Said last: a terminal may stand still. A post that hangs in the kernel is left behind.
  int Report() {
    if (why_.empty()) return 0;
    const std::vector<std::string> failures = Failures();
    std::string said = fmt::format("drycrank-guard: {}: {} of {} outputs are safe\n", why_,
                                   posts_.size() - failures.size(), posts_.size());
    for (const std::string& failure : failures)
      said += "drycrank-guard: NOT SAFE: " + failure + "\n";
    std::ignore = write(STDERR_FILENO, said.data(), said.size());
    if (failures.empty()) return 0;
    _exit(3);
  }

  void Answer(std::string_view text) { send(owner_, text.data(), text.size(), MSG_NOSIGNAL); }

  int owner_;
  Socket handle_;
  milliseconds limit_, step_;
  Heartbeat heart_;
  bool armed_ = false, ended_ = false;
  std::string why_;  // it acted; empty: it has not
  std::vector<std::unique_ptr<Post>> posts_;
};

bool IsMessageSocket(int descriptor) {
  int type = 0;
  socklen_t size = sizeof(type);
  return getsockopt(descriptor, SOL_SOCKET, SO_TYPE, &type, &size) == 0 && type == SOCK_SEQPACKET;
}

// What ends the owner must not end the guard: keys of the terminal, a session that closes, a service that
// stops, memory that runs out.
void OutliveTheOwner() {
  setsid();
  for (const int signal_number :
       {SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGPIPE, SIGUSR1, SIGUSR2, SIGXFSZ}) {
    signal(signal_number, SIG_IGN);
  }
  const Socket score(::open("/proc/self/oom_score_adj", O_WRONLY | O_CLOEXEC));
  if (score.is_open()) std::ignore = write(score.get(), "-1000", 5);
}

// Whatever its owner's niceness: it has that from it.
void GoBeforeTheOwner() {
  GoFirst(kPriority, /*alone=*/false);
  pthread_attr_t attributes;
  pthread_attr_init(&attributes);
  pthread_attr_setstacksize(&attributes, kStackBytes);
  pthread_setattr_default_np(&attributes);
  pthread_attr_destroy(&attributes);
}

}  // namespace

int RunGuard(int owner, milliseconds limit) {
  if (!IsMessageSocket(owner)) return 2;
  OutliveTheOwner();
  GoBeforeTheOwner();
  return GuardProcess(owner, limit).Run();
}

}  // namespace drycrank::io
