// SPDX-License-Identifier: Apache-2.0
#include "daemon/request.h"

namespace drycrank::daemon {
namespace {

std::string_view Trim(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

// Takes the first word off `rest`.
std::string_view Word(std::string_view& rest) {
  rest = Trim(rest);
  const auto space = rest.find_first_of(" \t");
  const std::string_view word = rest.substr(0, space);
  rest = space == std::string_view::npos ? std::string_view() : Trim(rest.substr(space));
  return word;
}

Request Wrong(std::string problem) {
  Request request;
  request.problem = std::move(problem);
  return request;
}

Request ParseRamp(std::string_view rest) {
  Request request{Verb::kRamp, std::string(Word(rest)), "", "", "", ""};
  const auto in = rest.rfind(" in ");
  if (in == std::string_view::npos) {
    return Wrong("ramp wants STIMULUS VALUE in TIME, as in: ramp engine_speed 3000 rpm in 2 s");
  }
  request.value = Trim(rest.substr(0, in));
  request.time = Trim(rest.substr(in + 4));
  return request;
}

Request ParseCrank(std::string_view rest) {
  if (rest.empty()) return Wrong("crank wants a speed, as in: crank 220 rpm");
  return {Verb::kCrank, "engine_speed", std::string(rest), "", "", ""};
}

Request ParseWatch(std::string_view rest) {
  if (rest.empty()) return {Verb::kWatch, "", "", "", "", ""};
  const std::string_view every = Word(rest);
  if (every != "every" || rest.empty()) return Wrong("watch stands alone, or: watch every 200 ms");
  return {Verb::kWatch, "", "", std::string(rest), "", ""};
}

Request ParseArm(std::string_view rest) {
  Request request{Verb::kArm, std::string(Word(rest)), "", "", "", ""};
  const std::string_view by = Word(rest);
  if (by != "by" || rest.empty())
    return Wrong("arm wants INTERFACE by NAME, as in: arm can0 by Kim");
  request.value = Trim(rest);
  return request;
}

}  // namespace

bool Drives(const Request& request) {
  return request.verb == Verb::kSet || request.verb == Verb::kRamp ||
         request.verb == Verb::kCrank || request.verb == Verb::kFault || request.verb == Verb::kArm;
}

Request ParseRequest(std::string_view line) {
  if (line.size() > kLongestLine) return Wrong("the line is longer than 4096 bytes");
  std::string_view rest = Trim(line);
  const std::string_view verb = Word(rest);
  if (verb == "set") {
    const std::string name(Word(rest));
    if (name.empty() || rest.empty()) {
      return Wrong("set wants STIMULUS VALUE, as in: set coolant_temperature 90 degC");
    }
    return {Verb::kSet, name, std::string(rest), "", "", ""};
  }
  if (verb == "ramp") return ParseRamp(rest);
  if (verb == "crank") return ParseCrank(rest);
  if (verb == "watch") return ParseWatch(rest);
  if (verb == "leave") {
    Request left = ParseRequest(rest);
    left.leave = left.verb == Verb::kSet || left.verb == Verb::kRamp || left.verb == Verb::kCrank;
    if (left.leave || left.verb == Verb::kNone) return left;
    return Wrong(
        "leave stands before set, ramp or crank, as in: leave set coolant_temperature 90 degC");
  }
  if (verb == "fault") {
    if (rest.empty()) return Wrong("fault wants a mapping, as in: fault {kind: open, at: CLT.1}");
    return {Verb::kFault, "", "", "", std::string(rest), ""};
  }
  if (verb == "clear") {
    if (rest.empty()) return Wrong("clear wants the name of a fault; status lists them");
    return {Verb::kClear, std::string(rest), "", "", "", ""};
  }
  if (verb == "arm") return ParseArm(rest);
  const Verb plain = verb == "status" ? Verb::kStatus
                     : verb == "stop" ? Verb::kStop
                     : verb == "help" ? Verb::kHelp
                                      : Verb::kNone;
  if (plain == Verb::kNone) {
    return Wrong(
        "unknown request; known are set, ramp, crank, leave, fault, clear, arm, status, watch, "
        "stop, help");
  }
  if (!rest.empty()) return Wrong(std::string(verb) + " stands alone");
  return {plain, "", "", "", "", ""};
}

}  // namespace drycrank::daemon
