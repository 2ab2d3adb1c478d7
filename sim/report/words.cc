// SPDX-License-Identifier: Apache-2.0
//
// Faults as sentences.
#include <fmt/format.h>

#include "report/summary.h"
#include "report/text.h"

namespace drycrank::report {
namespace {

using profile::Fault;
using profile::FaultKind;

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
      return "bytes of " + f.at + " sent in the other order";
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
      return fmt::format("a strange node sends 0x{:X} on bus {} every {}", f.id, f.at,
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
