// SPDX-License-Identifier: Apache-2.0
#include "daemon/handler.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "profile/load.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::daemon {
namespace {

using Json = nlohmann::ordered_json;

std::string Line(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}
std::string Problem(const std::string& text) { return Line({{"ok", false}, {"problem", text}}); }

constexpr const char* kHelp =
    "set STIMULUS VALUE | ramp STIMULUS VALUE in TIME | fault {kind: ..., at: ...} | clear NAME | "
    "status | stop";

}  // namespace

std::string Handler::Reply(const Request& request) {
  switch (request.verb) {
    case Verb::kSet:
    case Verb::kRamp:
      return Set(request);
    case Verb::kFault:
      return AddFault(request);
    case Verb::kClear:
      return Clear(request);
    case Verb::kStatus:
      return Status();
    case Verb::kHelp:
      return Line({{"ok", true}, {"help", kHelp}});
    case Verb::kStop:
      stop_();
      return Line({{"ok", true}});
    case Verb::kNone:
      break;
  }
  return Problem(request.problem);
}

std::string Handler::Set(const Request& request) {
  const int stimulus = profile::IndexOf(bench_.stimuli, request.name);
  if (stimulus < 0) {
    std::string known;
    for (const auto& s : bench_.stimuli) known += (known.empty() ? "" : ", ") + s.name;
    return Problem(fmt::format("no stimulus \"{}\"; the bench has {}", request.name, known));
  }
  const auto& target = Nth(bench_.stimuli, stimulus);
  const profile::ParsedValue parsed = profile::ParseStimulusValue(target, request.value);
  if (!parsed.value) return Problem(parsed.problem);
  double over_s = 0;
  if (request.verb == Verb::kRamp) {
    const auto time = ParseNumberWithUnit(request.time);
    const auto seconds =
        time ? Convert(time->value, time->unit.empty() ? "s" : time->unit, "s") : std::nullopt;
    if (!seconds || *seconds < 0 || *seconds > 86400) {
      return Problem(fmt::format("\"{}\" is not a time of 0 to 86400 s", request.time));
    }
    over_s = *seconds;
  }
  runner_.Override(stimulus, *parsed.value, over_s);
  return Line(
      {{"ok", true}, {"stimulus", request.name}, {"value", *parsed.value}, {"unit", target.unit}});
}

std::string Handler::AddFault(const Request& request) {
  profile::ParsedFault parsed = profile::ParseFault(bench_, request.yaml);
  if (!parsed.fault) {
    std::string all;
    for (const Diagnostic& problem : parsed.problems) {
      all += (all.empty() ? "" : " | ") + Format(problem);
    }
    return Problem(all);
  }
  if (parsed.fault->name.empty()) parsed.fault->name = fmt::format("fault_{}", ++unnamed_);
  runner_.AddFault(*parsed.fault);
  return Line({{"ok", true}, {"fault", parsed.fault->name}});
}

std::string Handler::Clear(const Request& request) {
  if (!runner_.RemoveFault(request.name)) {
    return Problem(fmt::format("no fault \"{}\" is in force", request.name));
  }
  return Line({{"ok", true}, {"cleared", request.name}});
}

std::string Handler::Status() const {
  Json json{{"ok", true}, {"bench", bench_.name}, {"time_s", ToSeconds(runner_.now_ns())}};
  Json& stimuli = json["stimuli"] = Json::object();
  for (std::size_t i = 0; i < bench_.stimuli.size(); ++i) {
    stimuli[bench_.stimuli[i].name] = {
        {"value", runner_.timeline().Value(static_cast<int>(i), runner_.now_ns())},
        {"unit", bench_.stimuli[i].unit}};
  }
  json["faults"] = runner_.FaultsInForce();
  if (const standin::Controller* controller = runner_.controller()) {
    json["controller"] = {{"state", standin::Name(controller->sync_state())},
                          {"reason", standin::Name(controller->sync_reason())}};
  }
  if (const standin::Display* display = runner_.display()) {
    Json& gauges = json["display"] = Json::object();
    for (std::size_t i = 0; i < bench_.display->gauges.size(); ++i) {
      const auto& gauge = bench_.display->gauges[i];
      const auto& reading = display->gauges()[i];
      const bool stale = reading.state == standin::GaugeState::kStale;
      gauges[gauge.name] = {{"shown", stale ? Json() : Json(reading.shown)},
                            {"unit", gauge.unit},
                            {"state", stale                                            ? "stale"
                                      : reading.state == standin::GaugeState::kWarning ? "warning"
                                                                                       : "ok"}};
    }
  }
  Json& buses = json["buses"] = Json::object();
  for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
    const bus::CanBus* outside = b < interfaces_.size() ? interfaces_[b] : nullptr;
    buses[bench_.buses[b].name] = outside == nullptr
                                      ? Json{{"interface", "inproc"}}
                                      : Json{{"interface", outside->Description()},
                                             {"trouble", runner_.TroubleOf(b)},
                                             {"sent", outside->counters().sent},
                                             {"received", outside->counters().received},
                                             {"refused", outside->counters().send_refused},
                                             {"lost", outside->counters().receive_lost},
                                             {"unconfirmed", outside->counters().unconfirmed},
                                             {"error_reports", outside->counters().error_reports}};
  }
  return Line(json);
}

}  // namespace drycrank::daemon
