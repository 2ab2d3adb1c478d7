// SPDX-License-Identifier: Apache-2.0
//
// What a client is answered: one line of JSON.
#ifndef DRYCRANK_DAEMON_ANSWER_LINE_H_
#define DRYCRANK_DAEMON_ANSWER_LINE_H_

#include <nlohmann/json.hpp>
#include <string>

namespace drycrank::daemon {

// In ASCII: what a client writes to a terminal turns nothing round there.
inline std::string Line(const nlohmann::ordered_json& json) {
  return json.dump(-1, ' ', true, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}
inline std::string Problem(const std::string& text) {
  return Line({{"ok", false}, {"problem", text}});
}

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_ANSWER_LINE_H_
