// SPDX-License-Identifier: Apache-2.0
//
// Bytes to requests. One request per line of text, UTF-8, at most kLongestLine bytes:
//
//   set STIMULUS VALUE            set coolant_temperature 90 °C
//   ramp STIMULUS VALUE in TIME   ramp engine_speed 3000 rpm in 2 s
//   crank SPEED                   crank 220 rpm: a starter's mean speed
//   fault {MAPPING}               fault {name: clt_open, kind: open, at: CLT.1}
//   clear NAME                    clear clt_open
//   status                        everything, as JSON
//   watch [every TIME]            the engine as the controller sees it, a line of JSON again and again, until
//                                 the next request
//   arm INTERFACE,... by NAME     arm can0 by Bench crew: send again after other hardware came
//   stop                          end the daemon, cleanly
//   help
#ifndef DRYCRANK_DAEMON_REQUEST_H_
#define DRYCRANK_DAEMON_REQUEST_H_

#include <cstddef>
#include <string>
#include <string_view>

namespace drycrank::daemon {

inline constexpr std::size_t kLongestLine = 4096;

enum class Verb { kSet, kRamp, kCrank, kFault, kClear, kArm, kStatus, kWatch, kStop, kHelp, kNone };

struct Request {
  Verb verb = Verb::kNone;
  std::string name;     // stimulus, fault, or hardware to arm ("can0,can1")
  std::string value;    // as written, unit included; who arms
  std::string time;     // ramp, watch
  std::string yaml;     // fault
  std::string problem;  // why it is kNone
  bool leave = false;   // set, ramp and crank: goes on when the client is gone
};

// Makes the bench do something that it did not: not worth doing any more when who asked is gone.
bool Drives(const Request& request);

Request ParseRequest(std::string_view line);

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_REQUEST_H_
