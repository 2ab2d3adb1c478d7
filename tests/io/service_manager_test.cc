// SPDX-License-Identifier: Apache-2.0
//
// Against a manager of the tests' own, bound as sd_notify(3) of systemd 252 describes it.
#include "io/service_manager.h"

#include <gtest/gtest.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstddef>
#include <cstring>
#include <string>

namespace drycrank::io {
namespace {

class ServiceManagerTest : public testing::Test {
 protected:
  ServiceManagerTest() { Forget(); }
  ~ServiceManagerTest() override {
    Forget();
    if (listening_ >= 0) ::close(listening_);
    if (name_.starts_with('/')) ::unlink(name_.c_str());
  }
  static void Forget() {
    for (const char* name : {"NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"}) ::unsetenv(name);
  }
  void Listen(const std::string& name) {
    name_ = name;
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path, name.data(), name.size());
    if (name[0] == '@') address.sun_path[0] = '\0';
    listening_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    const auto size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + name.size());
    ASSERT_EQ(::bind(listening_, reinterpret_cast<const sockaddr*>(&address), size), 0);
    ::setenv("NOTIFY_SOCKET", name.c_str(), 1);
  }
  // What has arrived; "": nothing.
  std::string Heard() const {
    char text[256];
    const ssize_t got = ::recv(listening_, text, sizeof(text), MSG_DONTWAIT);
    return got < 0 ? "" : std::string(text, static_cast<std::size_t>(got));
  }
  static std::string Own(const char* begin) { return begin + std::to_string(::getpid()); }

  std::string name_;
  int listening_ = -1;
};

TEST_F(ServiceManagerTest, IsToldThroughASocketInTheFileSystem) {
  Listen(Own("/tmp/service_manager_test."));
  const ServiceManager manager;
  ASSERT_TRUE(manager.IsThere());
  manager.Tell("READY=1\nSTATUS=live");
  EXPECT_EQ(Heard(), "READY=1\nSTATUS=live");
}

TEST_F(ServiceManagerTest, IsToldThroughAnAbstractSocket) {
  Listen(Own("@service_manager_test."));
  ServiceManager().Tell("WATCHDOG=1");
  EXPECT_EQ(Heard(), "WATCHDOG=1");
}

TEST_F(ServiceManagerTest, HearsNothingThatItDidNotAskFor) {
  Listen(Own("/tmp/service_manager_test."));
  for (const char* wrong : {"", "relative", "@", "/tmp/there/is/nobody"}) {
    ::setenv("NOTIFY_SOCKET", wrong, 1);
    const ServiceManager nobody;
    EXPECT_FALSE(nobody.IsThere()) << wrong;
    nobody.Tell("READY=1");
  }
  ::setenv("NOTIFY_SOCKET", ("/" + std::string(200, 'x')).c_str(), 1);
  EXPECT_FALSE(ServiceManager().IsThere());
  EXPECT_EQ(Heard(), "");
}

TEST_F(ServiceManagerTest, DoesNotHoldUpWhoeverTells) {
  Listen(Own("/tmp/service_manager_test."));
  const ServiceManager manager;
  for (int i = 0; i < 10'000; ++i) manager.Tell("WATCHDOG=1");  // more than the socket takes
  EXPECT_EQ(Heard(), "WATCHDOG=1");
}

TEST_F(ServiceManagerTest, WantsASignOfLifeWithinItsTime) {
  EXPECT_EQ(ServiceManager().watchdog_ns(), kNever);
  ::setenv("WATCHDOG_USEC", "5000000", 1);
  EXPECT_EQ(ServiceManager().watchdog_ns(), 5 * kNsPerS);
  ::setenv("WATCHDOG_PID", std::to_string(::getpid()).c_str(), 1);
  EXPECT_EQ(ServiceManager().watchdog_ns(), 5 * kNsPerS);
  ::setenv("WATCHDOG_PID", "1", 1);
  EXPECT_EQ(ServiceManager().watchdog_ns(), kNever);
  ::unsetenv("WATCHDOG_PID");
  for (const char* wrong : {"", "0", "-5", "5 s", "9223372036854775807"}) {
    ::setenv("WATCHDOG_USEC", wrong, 1);
    EXPECT_EQ(ServiceManager().watchdog_ns(), kNever) << wrong;
  }
}

}  // namespace
}  // namespace drycrank::io
