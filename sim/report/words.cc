// SPDX-License-Identifier: Apache-2.0
//
// Faults as sentences.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "report/summary.h"
#include "report/text.h"

namespace drycrank::report {
namespace {

namespace fault = profile::fault;
using profile::Fault;

std::string Through(double ohm) { return ohm > 0 ? " through " + Given(ohm, "ohm") : ""; }

// One sentence for each kind, from the fault and what the kind says.

std::string Words(const Fault& f, const fault::Open& /*kind*/) {
  return f.at + " open: contact or wire interrupted";
}
std::string Words(const Fault& f, const fault::ShortToGround& kind) {
  return f.at + " short to ground" + Through(kind.ohm);
}
std::string Words(const Fault& f, const fault::ShortToSupply& kind) {
  return f.at + " short to supply" + Through(kind.ohm);
}
std::string Words(const Fault& f, const fault::ShortTogether& kind) {
  return f.at + " and " + f.with + " short together" + Through(kind.ohm);
}
std::string Words(const Fault& f, const fault::SeriesResistance& kind) {
  return Given(kind.ohm, "ohm") + " in series at " + f.at;
}
std::string Words(const Fault& f, const fault::Leakage& kind) {
  return f.at + " leaks to " + (f.with.empty() ? "supply minus" : f.with) + Through(kind.ohm);
}
std::string Words(const Fault& f, const fault::TerminalsSwapped& /*kind*/) {
  return "terminals " + f.at + " and " + f.with + " swapped";
}
std::string Words(const Fault& f, const fault::ConnectorsSwapped& /*kind*/) {
  return "connectors " + f.at + " and " + f.with + " swapped";
}
std::string Words(const Fault& f, const fault::GroundOffset& kind) {
  return "ground offset of " + Given(kind.volts, "V") + " at " + f.at;
}
std::string Words(const Fault& f, const fault::SupplyOff& kind) {
  return (f.at.find('.') == std::string::npos ? "supply " : "5 V output ") + f.at + " gives " +
         Given(kind.volts, "V") + " more than the bench says";
}
std::string Words(const Fault& f, const fault::NotPlugged& /*kind*/) {
  return "plug " + f.at + " is not in its place";
}
std::string Words(const Fault& f, const fault::RelayStays& kind) {
  return kind.stays == fault::RelayPosition::kOff ? "relay " + f.at + " does not pull in"
                                                  : "relay " + f.at + " does not let go";
}
std::string Words(const Fault& f, const fault::Termination& kind) {
  return kind.ohm > 0 ? "a termination of " + Given(kind.ohm, "ohm") + " at " + f.at
                      : "termination of " + f.at + " missing";
}
std::string Words(const Fault& f, const fault::NotFitted& /*kind*/) {
  return f.at + " not fitted: its plug hangs free";
}
std::string Words(const Fault& f, const fault::WheelOffset& kind) {
  return "wheel of " + f.at + " mounted " + Given(kind.deg, "deg") + " of crank late";
}
std::string Words(const Fault& f, const fault::ToothMissing& kind) {
  return fmt::format("tooth {} of the wheel of {} missing", kind.tooth, f.at);
}
std::string Words(const Fault& f, const fault::ExtraTooth& kind) {
  return fmt::format("a tooth too many on the wheel of {}, from {} to {}", f.at,
                     Given(kind.begin_deg, "deg"), Given(kind.end_deg, "deg"));
}
std::string Words(const Fault& f, const fault::WheelRunout& kind) {
  const std::string swing =
      kind.swing == 0 ? "" : ", its coil's voltage swings by " + Given(kind.swing) + " of itself";
  return "wheel of " + f.at + " off its centre: its edges wander by " + Given(kind.deg, "deg") +
         swing;
}
std::string Words(const Fault& f, const fault::PickupInverted& /*kind*/) {
  return "signal of " + f.at + " inverted at the sensor";
}
std::string Words(const Fault& f, const fault::PickupStrength& kind) {
  return "air gap of " + f.at + ": its coil gives " + Given(kind.factor) + " times its voltage";
}
std::string Words(const Fault& f, const fault::ElectricalNoise& kind) {
  return "disturbed signal of " + f.at + ": " + Given(kind.rate_hz) + " times a second for " +
         Given(kind.width_us) + " µs";
}
std::string Words(const Fault& f, const fault::CamStuck& kind) {
  return "cam of " + f.at + " stuck at an advance of " + Given(kind.deg, "deg");
}
std::string Words(const Fault& f, const fault::CamSlow& kind) {
  return "cam of " + f.at + " moves by at most " + Given(kind.deg_per_s, "deg") + " a second";
}
std::string Words(const Fault& f, const fault::SensorOffset& kind) {
  return f.at + " reads as if the quantity were " + Given(kind.value) + " higher";
}
std::string Words(const Fault& f, const fault::SensorStuck& kind) {
  return f.at + " reads as if the quantity were always " + Given(kind.value);
}
std::string Words(const Fault& f, const fault::MessageMissing& /*kind*/) {
  return "message " + f.at + " not sent";
}
std::string Words(const Fault& f, const fault::MessageLate& kind) {
  return "message " + f.at + " sent at " + Given(kind.factor) + " times its period";
}
std::string Words(const Fault& f, const fault::MessageEarly& kind) {
  return fmt::format("every {}th frame of {} sent {} early", kind.every, f.at,
                     Given(kind.early_ms, "ms"));
}
std::string Words(const Fault& f, const fault::MessageDoubled& /*kind*/) {
  return "each frame of " + f.at + " sent twice";
}
std::string Words(const Fault& f, const fault::IdentifierWrong& kind) {
  return fmt::format("message {} sent under identifier 0x{:X}", f.at, kind.id);
}
std::string Words(const Fault& f, const fault::LengthWrong& kind) {
  return fmt::format("message {} sent with {} bytes", f.at, kind.length_bytes);
}
std::string Words(const Fault& f, const fault::BytesSwapped& /*kind*/) {
  return "bytes of " + f.at + " sent in reverse order";
}
std::string Words(const Fault& f, const fault::ValueFrozen& /*kind*/) {
  return f.at + " frozen: keeps the value it had";
}
std::string Words(const Fault& f, const fault::CounterStuck& /*kind*/) {
  return "rolling counter of " + f.at + " stands still";
}
std::string Words(const Fault& f, const fault::CounterJumps& kind) {
  return fmt::format("rolling counter of {} leaves out {} counts before every {}th frame", f.at,
                     kind.by, kind.every);
}
std::string Words(const Fault& f, const fault::ChecksumWrong& /*kind*/) {
  return "checksum of " + f.at + " inverted";
}
std::string Words(const Fault& f, const fault::NodeGone& /*kind*/) {
  return f.at + " gone from its buses: sends nothing, hears nothing";
}
std::string Words(const Fault& f, const fault::BabblingNode& kind) {
  return fmt::format("an unknown node sends 0x{:X} on bus {} every {}", kind.id, f.at,
                     Given(kind.period_ms, "ms"));
}
std::string Words(const Fault& f, const fault::ErrorFrames& kind) {
  return fmt::format("an error on bus {} every {}", f.at, Given(kind.period_ms, "ms"));
}
std::string Words(const Fault& f, const fault::BusOff& /*kind*/) {
  return f.at + " bus-off: takes no part";
}
std::string Words(const Fault& f, const fault::Layout& kind) {
  std::vector<std::string> parts;
  if (kind.byte_order) {
    parts.push_back(*kind.byte_order == profile::ByteOrder::kBig ? "most significant byte first"
                                                                 : "least significant byte first");
  }
  if (kind.scale) parts.push_back("scale " + Given(*kind.scale));
  if (kind.offset) parts.push_back("offset " + Given(*kind.offset));
  if (kind.start_bit) parts.push_back(fmt::format("start bit {}", *kind.start_bit));
  return f.at + " decoded by the display with " + Join(parts);
}
std::string Words(const Fault& f, const fault::Calibration& kind) {
  return fmt::format("controller's table of {} wrong: times {}, plus {}", f.at, Given(kind.gain),
                     Given(kind.value));
}

std::string Words(const Fault& f, const fault::Told& kind) {
  std::string what = "wheel " + kind.wheel;
  if (!kind.firing_order.empty()) {
    what = fmt::format("firing order {}", fmt::join(kind.firing_order, "-"));
  } else if (kind.advance_deg) {
    what = "an ignition advance of " + Given(*kind.advance_deg, "deg");
  } else if (kind.trailing_deg) {
    what = "a trailing split of " + Given(*kind.trailing_deg, "deg");
  } else if (kind.offset_deg) {
    what = "an offset of " + Given(*kind.offset_deg, "deg");
  } else if (kind.edge) {
    what = *kind.edge == profile::ActiveEdge::kRising ? "the rising edge" : "the falling edge";
  } else if (kind.limit) {
    what = "a limit of " + Given(*kind.limit);
  } else if (kind.delay_ms) {
    what = "a delay of " + Given(*kind.delay_ms, "ms");
  } else if (kind.acts) {
    what = *kind.acts == profile::fault::ToldToAct::kNever ? "not to act: limit"
                                                           : "to act on the good side: limit";
  }
  return fmt::format("controller told {} of {}", what, f.at);
}

}  // namespace

std::string FaultInWords(const Fault& f) {
  return std::visit([&](const auto& kind) { return Words(f, kind); }, f.kind);
}

namespace {

std::string TimeInWords(const Report& report, const Fault& f) {
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

}  // namespace

std::string FaultTimeInWords(const Report& report, const Fault& f) {
  const std::string time = TimeInWords(report, f);
  if (!f.every_s) return time;
  return fmt::format("{}, for {} every {}", time, Given(*f.for_s, "s"), Given(*f.every_s, "s"));
}

}  // namespace drycrank::report
