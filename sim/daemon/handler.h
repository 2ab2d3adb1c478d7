// SPDX-License-Identifier: Apache-2.0
//
// Requests to replies: changes the running bench, or tells about it. Every reply is one line of JSON
// with "ok" (true or false); "problem" says what was wrong and what would be right.
#ifndef DRYCRANK_DAEMON_HANDLER_H_
#define DRYCRANK_DAEMON_HANDLER_H_

#include <functional>
#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "daemon/request.h"
#include "profile/bench.h"
#include "run/runner.h"

namespace drycrank::daemon {

class Handler {
 public:
  // All must outlive it. `stop` is called for the request "stop".
  Handler(const profile::Bench& bench, run::Runner& runner,
          const std::vector<bus::CanBus*>& interfaces, std::function<void()> stop)
      : bench_(bench), runner_(runner), interfaces_(interfaces), stop_(std::move(stop)) {}

  std::string Reply(const Request& request);

 private:
  std::string Set(const Request& request);
  std::string AddFault(const Request& request);
  std::string Clear(const Request& request);
  std::string Status() const;

  const profile::Bench& bench_;
  run::Runner& runner_;
  const std::vector<bus::CanBus*>& interfaces_;
  std::function<void()> stop_;
  int unnamed_ = 0;
};

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_HANDLER_H_
