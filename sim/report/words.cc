// SPDX-License-Identifier: Apache-2.0
//
// Requirements and faults as sentences.
#include <fmt/format.h>

#include "report/summary.h"
#include "report/text.h"
#include "types/unit.h"

namespace drycrank::report {
namespace {

using profile::Expectation;
using profile::ExpectationKind;
using profile::Fault;
using profile::FaultKind;

// The quantity that a signal or gauge has to show, and its unit.
struct Wanted {
  std::string text;
  std::string unit;
};

Wanted WantedOf(const Report& report, const Expectation& e) {
  const bool has_stimulus = e.stimulus >= 0;
  const auto& stimuli = report.bench->stimuli;
  std::string unit = has_stimulus ? stimuli.at(static_cast<std::size_t>(e.stimulus)).unit : "";
  if (!has_stimulus && e.kind == ExpectationKind::kFollows) {
    if (const auto* signal = SignalAt(*report.bench, e.signal)) unit = signal->unit;
  }
  if (e.kind == ExpectationKind::kDisplayShows && e.gauge >= 0 && report.bench->display) {
    unit = report.bench->display->gauges.at(static_cast<std::size_t>(e.gauge)).unit;
  }
  if (e.value) return {Given(*e.value, unit), unit};
  if (!has_stimulus) return {"", unit};
  std::string text = stimuli.at(static_cast<std::size_t>(e.stimulus)).name;
  if (e.absolute) text += " plus barometric pressure";
  return {std::move(text), std::move(unit)};
}

std::string Within(const Expectation& e, const std::string& unit) {
  return e.tolerance > 0 ? " within ± " + Given(e.tolerance, unit) : "";
}

std::string DisplayRequirement(const Report& report, const Expectation& e) {
  std::string gauge = "the display";
  if (e.gauge >= 0 && report.bench->display) {
    const auto& g = report.bench->display->gauges.at(static_cast<std::size_t>(e.gauge));
    gauge += " (" + (g.label.empty() ? g.name : g.label) + ")";
  }
  const Wanted wanted = WantedOf(report, e);
  std::vector<std::string> parts;
  if (!wanted.text.empty()) parts.push_back(wanted.text + Within(e, wanted.unit));
  if (e.unit) parts.push_back("unit " + DisplayUnit(*e.unit));
  if (e.state) parts.push_back("state " + *e.state);
  return gauge + " shows " + Join(parts);
}

std::string Ohm(const Fault& f) { return Given(f.ohm, "ohm"); }

std::string Through(const Fault& f) { return f.ohm > 0 ? " through " + Ohm(f) : ""; }

std::string LayoutWords(const Fault& f) {
  std::vector<std::string> parts;
  if (f.byte_order) {
    parts.push_back(*f.byte_order == profile::ByteOrder::kBig ? "most significant byte first"
                                                              : "least significant byte first");
  }
  if (f.scale) parts.push_back("scale " + Given(*f.scale));
  if (f.offset) parts.push_back("offset " + Given(*f.offset));
  if (f.start_bit) parts.push_back(fmt::format("start bit {}", *f.start_bit));
  return f.at + " decoded by the display with " + Join(parts);
}

}  // namespace

std::string RequirementInWords(const Report& report, const Expectation& e) {
  switch (e.kind) {
    case ExpectationKind::kFollows: {
      const Wanted wanted = WantedOf(report, e);
      const char* verb = e.value ? " is " : " follows ";
      return e.signal_text + verb + wanted.text + Within(e, wanted.unit);
    }
    case ExpectationKind::kAlways:
      return "always " + e.condition.text;
    case ExpectationKind::kNever:
      return "never " + e.condition.text;
    case ExpectationKind::kWithin:
      return e.condition.text + " within " + Given(e.within_s, "s");
    case ExpectationKind::kForAtLeast:
      return e.condition.text + " for at least " + Given(e.for_s, "s");
    case ExpectationKind::kMessagePresent:
      return fmt::format("{} arrives every {} ± {}", e.message_text, Given(e.period_ms, "ms"),
                         Given(e.jitter_ms, "ms"));
    case ExpectationKind::kCounter:
      return "the rolling counter of " + e.message_text + " counts up by one";
    case ExpectationKind::kChecksum:
      return "the checksum of " + e.message_text + " is correct";
    case ExpectationKind::kDisplayShows:
      return DisplayRequirement(report, e);
    case ExpectationKind::kOnlyKnownMessages:
      return "only messages of the bench on bus " + e.bus_text;
    case ExpectationKind::kNoErrorFrames:
      return "no errors on bus " + e.bus_text;
    case ExpectationKind::kControllerReads: {
      const Wanted wanted = WantedOf(report, e);
      return "the controller answers " + e.question.text + " with " + wanted.text +
             Within(e, wanted.unit);
    }
    case ExpectationKind::kTroubleCode:
      return "the controller reports " + e.question.text + " within " + Given(e.within_s, "s");
    case ExpectationKind::kNoTroubleCodes:
      return "the controller reports no trouble code";
    case ExpectationKind::kWitnessed:
      return e.condition.text;
    case ExpectationKind::kSynchronised:
      break;
  }
  return fmt::format("{} within {} crank turns", e.condition.text, Given(e.turns));
}

std::string FaultInWords(const Fault& f) {
  switch (f.kind) {
    case FaultKind::kOpen:
      return f.at + " open: contact or wire interrupted";
    case FaultKind::kShortToGround:
      return f.at + " short to ground" + Through(f);
    case FaultKind::kShortToSupply:
      return f.at + " short to supply" + Through(f);
    case FaultKind::kShortTogether:
      return f.at + " and " + f.with + " short together" + Through(f);
    case FaultKind::kSeriesResistance:
      return Ohm(f) + " in series at " + f.at;
    case FaultKind::kLeakage:
      return f.at + " leaks to " + (f.with.empty() ? "supply minus" : f.with) + Through(f);
    case FaultKind::kTerminalsSwapped:
      return "terminals " + f.at + " and " + f.with + " swapped";
    case FaultKind::kConnectorsSwapped:
      return "connectors " + f.at + " and " + f.with + " swapped";
    case FaultKind::kGroundOffset:
      return "ground offset of " + Given(f.volts, "V") + " at " + f.at;
    case FaultKind::kNotFitted:
      return f.at + " not fitted: its plug hangs free";
    case FaultKind::kWheelOffset:
      return "wheel of " + f.at + " mounted " + Given(f.deg, "deg") + " of crank late";
    case FaultKind::kToothMissing:
      return fmt::format("tooth {} of the wheel of {} missing", f.tooth, f.at);
    case FaultKind::kSensorOffset:
      return f.at + " reads as if the quantity were " + Given(f.value) + " higher";
    case FaultKind::kMessageMissing:
      return "message " + f.at + " not sent";
    case FaultKind::kMessageLate:
      return "message " + f.at + " sent at " + Given(f.factor) + " times its period";
    case FaultKind::kMessageEarly:
      return fmt::format("every {}th frame of {} sent {} early", f.every, f.at,
                         Given(f.early_ms, "ms"));
    case FaultKind::kMessageDoubled:
      return "each frame of " + f.at + " sent twice";
    case FaultKind::kIdentifierWrong:
      return fmt::format("message {} sent under identifier 0x{:X}", f.at, f.id);
    case FaultKind::kLengthWrong:
      return fmt::format("message {} sent with {} bytes", f.at, f.length_bytes);
    case FaultKind::kBytesSwapped:
      return "bytes of " + f.at + " sent in reverse order";
    case FaultKind::kValueFrozen:
      return f.at + " frozen: keeps the value it had";
    case FaultKind::kCounterStuck:
      return "rolling counter of " + f.at + " stands still";
    case FaultKind::kCounterJumps:
      return fmt::format("rolling counter of {} leaves out {} counts before every {}th frame", f.at,
                         f.by, f.every);
    case FaultKind::kChecksumWrong:
      return "checksum of " + f.at + " inverted";
    case FaultKind::kNodeGone:
      return f.at + " gone from its buses: sends nothing, hears nothing";
    case FaultKind::kBabblingNode:
      return fmt::format("an unknown node sends 0x{:X} on bus {} every {}", f.id, f.at,
                         Given(f.period_ms, "ms"));
    case FaultKind::kErrorFrames:
      return fmt::format("an error on bus {} every {}", f.at, Given(f.period_ms, "ms"));
    case FaultKind::kBusOff:
      return f.at + " bus-off: takes no part";
    case FaultKind::kLayout:
      return LayoutWords(f);
    case FaultKind::kCalibration:
      break;
  }
  return fmt::format("controller's table of {} wrong: times {}, plus {}", f.at, Given(f.gain),
                     Given(f.value));
}

std::string FaultTimeInWords(const Report& report, const Fault& f) {
  if (f.from_s || f.to_s) {
    const std::string from = f.from_s ? "from " + Given(*f.from_s, "s") : "from the start";
    return from + (f.to_s ? " to " + Given(*f.to_s, "s") : " to the end");
  }
  if (f.during.empty()) return "the whole run";
  std::vector<std::string> parts;
  for (const std::string& name : f.during) {
    std::string part = name;
    for (const StepTime& step : report.steps) {
      if (step.name != name) continue;
      part += " (" + Seconds(step.begin_ns) + " to " + Seconds(step.end_ns) + ")";
    }
    parts.push_back(std::move(part));
  }
  return "during " + Join(parts);
}

}  // namespace drycrank::report
