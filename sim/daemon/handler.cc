// SPDX-License-Identifier: Apache-2.0
#include "daemon/handler.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/answer_line.h"
#include "profile/load.h"
#include "profile/state_names.h"
#include "profile/triggers.h"
#include "run/bus_fault.h"
#include "types/nth.h"
#include "types/plain_text.h"
#include "types/unit.h"

namespace drycrank::daemon {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kHelp =
    "set STIMULUS VALUE | ramp STIMULUS VALUE in TIME | crank SPEED | leave set ... | leave ramp "
    "... "
    "| leave crank ... | fault {kind: ..., at: ...} | clear NAME | arm INTERFACE by NAME | status "
    "| "
    "watch every TIME | stop";

constexpr double kWatchS = 0.5, kLeastWatchS = 0.05, kMostWatchS = 3600;

}  // namespace

std::string Handler::Reply(const Request& request, std::uint64_t client) {
  switch (request.verb) {
    case Verb::kSet:
    case Verb::kRamp:
    case Verb::kCrank:
      return Set(request, client);
    case Verb::kFault:
      return AddFault(request);
    case Verb::kClear:
      return Clear(request);
    case Verb::kArm:
      return Arm(request, client);
    case Verb::kStatus:
      return Status();
    case Verb::kWatch:
      return Watch(request);
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

// Why crank and cams do not go by it: they are those of a capture. Empty: they do.
std::string Handler::WhyCaptured(int stimulus) const {
  if (!runner_.plays_capture()) return "";
  const bool turns =
      stimulus == 0 || std::ranges::any_of(bench_.triggers, [&](const auto& trigger) {
        return trigger.advance_stimulus == stimulus;
      });
  return turns ? "crank and cams are those of the capture; start drycrankd without --capture" : "";
}

std::string Handler::Set(const Request& request, std::uint64_t client) {
  const int stimulus = profile::IndexOf(bench_.stimuli, request.name);
  if (stimulus < 0) {
    std::string known;
    for (const auto& s : bench_.stimuli) known += (known.empty() ? "" : ", ") + s.name;
    return Problem(fmt::format("no stimulus \"{}\"; the bench has {}", request.name, known));
  }
  if (const std::string why = WhyCaptured(stimulus); !why.empty()) {
    return Problem(fmt::format("{} is not driven: {}", request.name, why));
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
  if (const std::string why = WhyNotGiven(request, stimulus, *parsed.value, over_s); !why.empty()) {
    return Problem(why);
  }
  if (request.verb == Verb::kCrank) {
    runner_.Crank(*parsed.value);
  } else {
    runner_.Override(stimulus, *parsed.value, over_s);
  }
  const bool ends = request.leave && longest_drive_ns_ != kNever;
  Nth(drives_, stimulus) = {request.leave ? kNobody : client,
                            ends ? runner_.now_ns() + longest_drive_ns_ : kNever};
  return Line(
      {{"ok", true}, {"stimulus", request.name}, {"value", *parsed.value}, {"unit", target.unit}});
}

// Back to what it was when the bench was switched on: nobody is there to answer for more.
void Handler::End(std::size_t stimulus) {
  drives_[stimulus] = {};
  runner_.Override(static_cast<int>(stimulus), bench_.stimuli[stimulus].initial);
}

void Handler::Gone(std::uint64_t client) {
  for (std::size_t i = 0; i < drives_.size(); ++i) {
    if (drives_[i].client == client) End(i);
  }
  if (armer_ != client || outputs_ == nullptr) return;
  armer_ = kNobody;
  const std::string failed = outputs_->failure();
  const std::string problem = outputs_->Disarm(runner_.now_ns());
  if (!failed.empty()) return runner_.Remark("outputs: disarmed, for one of them failed: " + failed);
  runner_.Remark(fmt::format("outputs: disarmed, for {}{}{}",
                             is_ending_ ? "the bench ends" : "who armed them is gone",
                             problem.empty() ? "" : "; ", problem));
}

void Handler::EndOverdue() {
  for (std::size_t i = 0; i < drives_.size(); ++i) {
    if (drives_[i].until_ns <= runner_.now_ns()) End(i);
  }
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
  const std::string not_given = outputs_ == nullptr ? "" : outputs_->WhyNot(*parsed.fault);
  if (!not_given.empty()) return Problem(not_given);
  if (runner_.plays_capture() && profile::IndexOf(bench_.triggers, parsed.fault->at) >= 0) {
    return Problem(fmt::format(
        "a fault at {} does nothing: crank and cams are those of the capture", parsed.fault->at));
  }
  if (runner_.faults_by_hand() >= kMostFaults && !runner_.HasFault(parsed.fault->name)) {
    return Problem(fmt::format("{} faults are in force; clear one before", kMostFaults));
  }
  if (const std::string why = WhyTooMuch(*parsed.fault); !why.empty()) return Problem(why);
  runner_.AddFault(*parsed.fault);
  return Line({{"ok", true}, {"fault", parsed.fault->name}});
}

// A bus carries so many bits a second and no more, whoever sends them.
std::string Handler::WhyTooMuch(const profile::Fault& fault) const {
  for (const profile::Bus& bus : bench_.buses) {
    double bits = run::BitsPerSecond(fault, bus);
    if (bits == 0) continue;
    for (const profile::Fault& other : runner_.ByHand()) {
      if (other.name != fault.name) bits += run::BitsPerSecond(other, bus);
    }
    if (bits <= bus.bitrate_bps) continue;
    return fmt::format(
        "the faults would send {:.0f} bit/s on {}, which carries {:.0f}; give a longer period_ms, "
        "or "
        "clear one before",
        bits, bus.name, bus.bitrate_bps);
  }
  return "";
}

void Handler::TooLate(const std::string& line) {
  runner_.Remark(fmt::format("not done, for who asked is gone: {}", OneLine(line)));
}

std::string Handler::Clear(const Request& request) {
  if (!runner_.RemoveFault(request.name)) {
    return Problem(fmt::format("no fault \"{}\" is in force", request.name));
  }
  return Line({{"ok", true}, {"cleared", request.name}});
}

// Empty: the outputs give it, or there are none.
std::string Handler::WhyNotGiven(const Request& request, int stimulus, double value,
                                 double over_s) const {
  if (outputs_ == nullptr) return "";
  profile::Drive drive;
  drive.stimulus = stimulus;
  drive.to = value;
  drive.over_s = over_s;
  if (over_s > 0) drive.kind = profile::DriveKind::kRamp;
  if (request.verb == Verb::kCrank) drive.kind = profile::DriveKind::kCrank;
  return outputs_->WhyNot(drive);
}

std::optional<std::chrono::milliseconds> Handler::EveryOf(const Request& request) {
  if (request.verb != Verb::kWatch) return std::nullopt;
  double every_s = kWatchS;
  if (!request.time.empty()) {
    const auto time = ParseNumberWithUnit(request.time);
    const auto seconds =
        time ? Convert(time->value, time->unit.empty() ? "s" : time->unit, "s") : std::nullopt;
    if (!seconds || *seconds < kLeastWatchS || *seconds > kMostWatchS) return std::nullopt;
    every_s = *seconds;
  }
  return std::chrono::milliseconds(std::llround(every_s * 1e3));
}

std::string Handler::Watch(const Request& request) const {
  if (!EveryOf(request)) {
    return Problem(fmt::format("\"{}\" is not a time of {:g} to {:g} s, as in: watch every 200 ms",
                               request.time, kLeastWatchS, kMostWatchS));
  }
  if (engine_ == nullptr || runner_.controller() == nullptr) {
    return Problem("nothing to watch: no stand-in plays the controller");
  }
  return Watched();
}

std::string Handler::Watched() const {
  Json json{{"ok", true}, {"time_s", ToSeconds(runner_.now_ns())}};
  engine_->Say(*runner_.controller(), json["controller"]);
  json["faults"] = runner_.FaultsInForce();
  return Line(json);
}

std::string Handler::Status() const {
  Json json{{"ok", true}, {"bench", bench_.name}, {"time_s", ToSeconds(runner_.now_ns())}};
  json["behind_s"] = ToSeconds(behind_ns_);
  const Kept kept = kept_ ? kept_() : Kept();
  json["record"] = {{"folder", kept.record},
                    {"recording", kept.recording},
                    {"trouble", kept.trouble},
                    {"ended", kept.ended},
                    {"low", kept.low},
                    {"bytes", kept.bytes},
                    {"bytes_per_hour", kept.bytes_per_hour},
                    {"disk_left_bytes", kept.disk_left_bytes}};
  Json& stimuli = json["stimuli"] = Json::object();
  for (std::size_t i = 0; i < bench_.stimuli.size(); ++i) {
    stimuli[bench_.stimuli[i].name] = {
        {"value", runner_.timeline().Value(static_cast<int>(i), runner_.now_ns())},
        {"unit", bench_.stimuli[i].unit}};
  }
  json["faults"] = runner_.FaultsInForce();
  if (const standin::Controller* controller = runner_.controller()) {
    Json& said = json["controller"] = {{"state", standin::Name(controller->sync_state())},
                                       {"reason", standin::Name(controller->sync_reason())}};
    if (engine_ != nullptr) engine_->Say(*controller, said);
  }
  if (const standin::Display* display = runner_.display()) {
    Json& gauges = json["display"] = Json::object();
    for (std::size_t i = 0; i < bench_.display->gauges.size(); ++i) {
      const auto& gauge = bench_.display->gauges[i];
      const auto& reading = display->gauges()[i];
      const bool stands = reading.state == standin::GaugeState::kOk ||
                          reading.state == standin::GaugeState::kWarning;
      gauges[gauge.name] = {
          {"shown", stands ? Json(reading.shown) : Json()},
          {"unit", gauge.unit},
          {"state", profile::StateNamesOf(".state").at(static_cast<int>(reading.state))}};
    }
  }
  Json& buses = json["buses"] = Json::object();
  for (std::size_t b = 0; b < bench_.buses.size(); ++b) {
    const bus::CanBus* outside = b < interfaces_.size() ? interfaces_[b] : nullptr;
    buses[bench_.buses[b].name] = outside == nullptr
                                      ? Json{{"interface", "inproc"}}
                                      : Json{{"interface", outside->Description()},
                                             {"trouble", runner_.TroubleOf(b)},
                                             {"drives", bus::NamesOf(outside->Drives())},
                                             {"armed", outside->IsArmed()},
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
