// SPDX-License-Identifier: Apache-2.0
//
// What a service manager hears from a service: that it is ready, that it lives, that it ends. Each is a
// datagram of lines NAME=VALUE to the Unix socket that the environment names:
//
//   NOTIFY_SOCKET   a path, or "@" and an abstract name; not there: nobody wants to hear
//   WATCHDOG_USEC   within this time it wants a sign of life, in microseconds
//   WATCHDOG_PID    of this process; another's wish is none of ours
//
// Source: sd_notify(3) and sd_watchdog_enabled(3) of systemd 252, which let services speak it without
// the library; that one would be a dependency for four lines.
#ifndef DRYCRANK_IO_SERVICE_MANAGER_H_
#define DRYCRANK_IO_SERVICE_MANAGER_H_

#include <string_view>

#include "types/time.h"

namespace drycrank::io {

class ServiceManager {
 public:
  // As the environment has it at this moment.
  ServiceManager();
  ~ServiceManager();
  ServiceManager(const ServiceManager&) = delete;
  ServiceManager& operator=(const ServiceManager&) = delete;

  bool IsThere() const { return socket_ >= 0; }
  // Within which a sign of life is wanted; kNever: none is.
  TimeNs watchdog_ns() const { return watchdog_ns_; }
  // Never waits: what the manager does not take now is not told.
  void Tell(std::string_view lines) const;

 private:
  int socket_ = -1;
  TimeNs watchdog_ns_ = kNever;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_SERVICE_MANAGER_H_
