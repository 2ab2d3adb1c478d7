// SPDX-License-Identifier: Apache-2.0
//
// Hypotheses in words that name terminals.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <string_view>
#include <utility>
#include <variant>

#include "diagnose/hypothesis.h"
#include "diagnose/suspects.h"
#include "diagnose/wheel_suspects.h"
#include "profile/bus_nodes.h"
#include "profile/sensors.h"
#include "profile/told_controller.h"
#include "profile/triggers.h"
#include "types/nth.h"
#include "types/ohm_text.h"
#include "types/unit.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Bench;
using profile::Fault;

constexpr double kHalfMoonDeg = 1;  // of its wheel, off half of it

std::string Ends(const Bench& bench, const std::string& circuit) {
  std::string text;
  for (const profile::Wire& wire : bench.wires) {
    if (wire.circuit != circuit) continue;
    if (!text.empty()) text += ", ";
    text += fmt::format("{} to {}", wire.from, wire.to);
  }
  return text;
}

// "CLT.1 (Coolant temperature sensor)"
std::string Pin(const Bench& bench, const std::string& terminal) {
  const int index = profile::IndexOf(bench.connectors, terminal.substr(0, terminal.find('.')));
  if (index < 0) return terminal;
  const std::string& label = Nth(bench.connectors, index).label;
  return label.empty() ? terminal : fmt::format("{} ({})", terminal, label);
}

bool IsCircuit(const Bench& bench, const std::string& name) {
  for (const profile::Wire& wire : bench.wires) {
    if (wire.circuit == name) return true;
  }
  return false;
}

const profile::Wire* FuseNamed(const Bench& bench, const std::string& name) {
  for (const profile::Wire& wire : bench.wires) {
    if (wire.circuit == name && wire.IsFuse()) return &wire;
  }
  return nullptr;
}

// Of such a one nobody can tell its own ohms from those of what pulls it up.
bool IsResistive(const Bench& bench, const std::string& name) {
  const int index = profile::IndexOf(bench.sensors, name);
  if (index < 0) return false;
  const profile::SensorModel& model = Nth(bench.sensors, index).model;
  return std::holds_alternative<profile::NtcSensor>(model) ||
         std::holds_alternative<profile::PlatinumSensor>(model);
}

// Two bare wires touch with less than this: common practice, no source.
constexpr double kLeakOhm = 20;

std::string ShortOrLeak(const Bench& bench, const Fault& f, double ohm, const char* to) {
  if (ohm < kLeakOhm) return fmt::format("wire at {} short to {}", Pin(bench, f.at), to);
  return fmt::format("about {} from the wire at {} to {}", OhmText(ohm), Pin(bench, f.at), to);
}

std::string WheelWords(const profile::Wheel& wheel) {
  if (!wheel.name.empty()) return wheel.name;
  return fmt::format("of {} teeth", wheel.teeth.size());
}

const char* EdgeWords(profile::ActiveEdge edge) {
  return edge == profile::ActiveEdge::kRising ? "the rising edge" : "the falling edge";
}

// "firing order 1-2-4-3", "1-3-4-2"
std::pair<std::string, std::string> ToldAndRight(const Fault& f, const profile::Controller& seems,
                                                 const profile::Controller& bench) {
  const std::string_view setting = profile::SettingOf(f);
  if (setting == "firing_order") {
    return {fmt::format("firing order {}", fmt::join(seems.decoder.firing_order, "-")),
            fmt::format("{}", fmt::join(bench.decoder.firing_order, "-"))};
  }
  if (setting == "advance_deg") {
    return {fmt::format("{:.3g}° of ignition advance", seems.decoder.advance_deg),
            fmt::format("{:.4g}°", bench.decoder.advance_deg)};
  }
  if (setting == "trailing_deg") {
    return {fmt::format("{:.3g}° of trailing split", *seems.decoder.trailing_deg),
            fmt::format("{:.4g}°", bench.decoder.trailing_deg.value_or(0))};
  }
  const int index = profile::IndexOf(bench.triggers, f.at);
  if (index < 0) return {"something else", "what the bench says"};
  const auto &is = Nth(seems.triggers, index), &due = Nth(bench.triggers, index);
  if (setting == "offset_deg") {
    const double turn_deg = profile::ShaftTurnDeg(is.shaft, 720);
    const double typed_deg = is.offset_deg < 0 ? is.offset_deg + turn_deg : is.offset_deg;
    return {fmt::format("an offset of {:.4g}° for {}", typed_deg, f.at),
            fmt::format("{:.4g}°", due.offset_deg)};
  }
  if (setting == "edge") {
    return {fmt::format("{} of {}", EdgeWords(is.edge), f.at), EdgeWords(due.edge)};
  }
  return {fmt::format("a wheel {} for {}", WheelWords(is.wheel), f.at), WheelWords(due.wheel)};
}

// One for each kind that is a hypothesis; others by their names.

std::string Words(const Bench& bench, const Fault& f, const fault::Open& /*kind*/) {
  if (const profile::Wire* fuse = FuseNamed(bench, f.at)) {
    return fmt::format("fuse {} blown or missing ({:g} A, {} to {})", f.at, fuse->fuse_a,
                       fuse->from, fuse->to);
  }
  if (IsCircuit(bench, f.at)) return fmt::format("wire {} open ({})", f.at, Ends(bench, f.at));
  return fmt::format("contact {} open", Pin(bench, f.at));
}
std::string Words(const Bench& bench, const Fault& f, const fault::ShortToGround& kind) {
  return ShortOrLeak(bench, f, kind.ohm, "ground");
}
std::string Words(const Bench& bench, const Fault& f, const fault::ShortToSupply& kind) {
  return ShortOrLeak(bench, f, kind.ohm, "supply");
}
std::string Words(const Bench& bench, const Fault& f, const fault::ShortTogether& kind) {
  if (kind.ohm < kLeakOhm) return fmt::format("pins {} and {} shorted", f.at, Pin(bench, f.with));
  return fmt::format("about {} between the wires of {} and {}: chafed or damp", OhmText(kind.ohm), f.at,
                     Pin(bench, f.with));
}
std::string Words(const Bench& bench, const Fault& f, const fault::SeriesResistance& kind) {
  return fmt::format("about {} extra resistance at contact {}", OhmText(kind.ohm), Pin(bench, f.at));
}
std::string Words(const Bench& bench, const Fault& f, const fault::Leakage& kind) {
  return fmt::format("leakage of {} at {}", OhmText(kind.ohm), Pin(bench, f.at));
}
std::string Words(const Bench& bench, const Fault& f, const fault::TerminalsSwapped& /*kind*/) {
  return fmt::format("terminals {} and {} swapped", f.at, Pin(bench, f.with));
}
std::string Words(const Bench& /*bench*/, const Fault& f,
                  const fault::ConnectorsSwapped& /*kind*/) {
  return fmt::format("connectors {} and {} swapped", f.at, f.with);
}
std::string Words(const Bench& bench, const Fault& f, const fault::GroundOffset& kind) {
  return fmt::format("{:.3g} V in contact {}", kind.volts, Pin(bench, f.at));
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::SupplyOff& kind) {
  const bool terminal = f.at.find('.') != std::string::npos;
  return fmt::format("{} {} {:.3g} V {} than the bench says", terminal ? "5 V output" : "supply",
                     f.at, std::abs(kind.volts), kind.volts < 0 ? "lower" : "higher");
}
std::string Words(const Bench& bench, const Fault& f, const fault::NotPlugged& /*kind*/) {
  const int plug = profile::IndexOf(bench.connectors, f.at);
  const std::string label = plug < 0 ? "" : Nth(bench.connectors, plug).label;
  return fmt::format("plug {} not in its place",
                     label.empty() || label == f.at ? f.at : fmt::format("{} ({})", f.at, label));
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::RelayStays& kind) {
  return kind.stays == fault::RelayPosition::kOff
             ? fmt::format("relay {} does not pull in", f.at)
             : fmt::format("relay {} does not let go: stuck, or its contact welded", f.at);
}
std::string Words(const Bench& bench, const Fault& f, const fault::Termination& kind) {
  const profile::BusNode* node = profile::FindBusNode(bench, f.at);
  const std::string pins =
      node == nullptr ? f.at : fmt::format("{} ({} to {})", f.at, node->high, Pin(bench, node->low));
  if (kind.ohm == 0) return fmt::format("termination of {} missing", pins);
  if (node != nullptr && node->termination_ohm == 0) {
    return fmt::format("a termination too many, of {} at {}", OhmText(kind.ohm), pins);
  }
  return fmt::format("termination of {} has {} and should have {}", pins, OhmText(kind.ohm),
                     OhmText(node == nullptr ? 0 : node->termination_ohm));
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::NotFitted& /*kind*/) {
  return fmt::format("{} not fitted or its plug off", f.at);
}
// Half of its wheel is tooth: inverted it is the same wheel half a turn on.
bool IsHalfMoon(const Bench& bench, const std::string& name) {
  const int at = profile::IndexOf(bench.triggers, name);
  if (at < 0) return false;
  const profile::Trigger& trigger = Nth(bench.triggers, at);
  const std::vector<Tooth>& teeth = trigger.wheel.teeth;
  return std::holds_alternative<profile::HallPickup>(trigger.pickup) && teeth.size() == 1 &&
         std::abs(teeth[0].end_deg - teeth[0].begin_deg - 180) < kHalfMoonDeg;
}

std::string Words(const Bench& bench, const Fault& f, const fault::WheelOffset& kind) {
  const bool half = std::abs(kind.deg) == 360;
  if (half && IsHalfMoon(bench, f.at)) {
    return fmt::format(
        "level of {} inverted, or its wheel half a turn off: the same on a half-moon", f.at);
  }
  if (half) return fmt::format("wheel {} mounted half a turn off", f.at);
  return fmt::format("wheel {} mounted {:.3g} crank degrees {}", f.at, std::abs(kind.deg),
                     kind.deg < 0 ? "early" : "late");
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::ToothMissing& /*kind*/) {
  return fmt::format("a tooth of wheel {} missing", f.at);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::ExtraTooth& /*kind*/) {
  return fmt::format("a tooth too many on wheel {}: a burr, or swarf", f.at);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::WheelRunout& kind) {
  return fmt::format("wheel {} off its centre by {:.3g} degrees", f.at, kind.deg);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::PickupInverted& /*kind*/) {
  return fmt::format("signal of {} inverted at the sensor", f.at);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::PickupStrength& kind) {
  return fmt::format("coil of {} gives {:.3g} times its voltage: its air gap", f.at, kind.factor);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::ElectricalNoise& kind) {
  return fmt::format("signal of {} disturbed {:.3g} times a second", f.at, kind.rate_hz);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::CamStuck& kind) {
  return fmt::format("cam {} stuck at an advance of {:.3g} crank degrees", f.at, kind.deg);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::CamSlow& kind) {
  return fmt::format("cam {} moves too slowly: {:.3g} crank degrees a second", f.at,
                     kind.deg_per_s);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::SensorOffset& kind) {
  return fmt::format("sensor {} reads {:.3g} too {}", f.at, std::abs(kind.value),
                     kind.value < 0 ? "low" : "high");
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::SensorStuck& kind) {
  return fmt::format("sensor {} stuck: it reads {:.3g} whatever it measures", f.at, kind.value);
}
// Another upper end of a table of two points.
std::string SpanWords(const profile::AnalogChannel& channel, const fault::Calibration& kind) {
  const auto& [volts, right] = channel.value_at_volts.back();
  const auto value = [&](double v) { return WithUnit(fmt::format("{:.4g}", v), channel.unit); };
  return fmt::format(
      "the controller's table of {} seems to have been told {} at {:.3g} V; tell it {}",
      channel.name, value(right * kind.gain + kind.value), volts, value(right));
}

std::string Words(const Bench& bench, const Fault& f, const fault::Calibration& kind) {
  const int channel = profile::IndexOf(bench.controller->analog, f.at);
  if (kind.about != 0 && channel >= 0) {
    return SpanWords(Nth(bench.controller->analog, channel), kind);
  }
  return kind.gain == 1
             ? fmt::format("controller's table of {} wrong by {:+.3g}", f.at, kind.value)
             : fmt::format("controller's table of {} wrong by a factor of {:.3g}", f.at, kind.gain);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::Layout& kind) {
  const std::string what = kind.byte_order ? std::string("byte order")
                           : kind.scale    ? fmt::format("scale {:.4g}", *kind.scale)
                                           : fmt::format("offset {:.4g}", kind.offset.value_or(0));
  return fmt::format("display reads {} with the wrong {}", f.at, what);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::MessageMissing& /*kind*/) {
  return fmt::format("controller does not send {}", f.at);
}
// What it seems to be told, and what it should be.
std::string Words(const Bench& bench, const Fault& f, const fault::Told& /*kind*/) {
  profile::Controller seems = *bench.controller;
  profile::Tell(f, seems);
  const auto [told, right] = ToldAndRight(f, seems, *bench.controller);
  return fmt::format("the controller seems to have been told {}; tell it {}", told, right);
}
std::string Words(const Bench& /*bench*/, const Fault& f, const fault::BabblingNode& kind) {
  return fmt::format("a node that the bench does not know sends 0x{:X} on bus {} every {:.3g} ms",
                     kind.id, f.at, kind.period_ms);
}
template <profile::BusKind Kind>
std::string Words(const Bench& /*bench*/, const Fault& f, const Kind& kind) {
  return fmt::format("{} {}", kind.kWord, f.at);
}

}  // namespace

std::string Describe(const Bench& bench, const Hypothesis& hypothesis) {
  if (!hypothesis.parts.empty()) {
    std::string text;
    for (const Hypothesis& part : hypothesis.parts) {
      text += (text.empty() ? "" : "; and ") + Describe(bench, part);
    }
    return text;
  }
  if (hypothesis.kind == "splice broken open") {
    std::string text = "splice broken open: ";
    for (std::size_t i = 0; i < hypothesis.faults.size(); ++i) {
      text += (i == 0 ? "" : ", ") + hypothesis.faults[i].at;
    }
    return text;
  }
  if (hypothesis.kind == kOtherCurve) {
    return fmt::format("sensor {} has another curve: not the part that is drawn{}",
                       hypothesis.faults[0].at,
                       IsResistive(bench, hypothesis.faults[0].at)
                           ? ", or the pull-up of its input is not"
                           : "");
  }
  const auto* gone = hypothesis.faults[0].As<fault::ToothMissing>();
  if (gone != nullptr && hypothesis.value == gone->tooth) {
    return fmt::format("tooth {} of wheel {} missing", gone->tooth, hypothesis.faults[0].at);
  }
  // Sizes that nothing tells.
  if (hypothesis.kind == kNoise) {
    return fmt::format("signal of {} disturbed: edges that no tooth makes",
                       hypothesis.faults[0].at);
  }
  if (hypothesis.kind == kSlowCam) {
    return fmt::format("cam {} moves too slowly", hypothesis.faults[0].at);
  }
  std::string text;
  if (hypothesis.kind == "comes and goes") {
    const std::vector<std::string>& during = hypothesis.faults[0].during;
    constexpr std::size_t kMostNamed = 4;
    text = "comes and goes (there in ";
    for (std::size_t i = 0; i < std::min(during.size(), kMostNamed); ++i) {
      text += (i == 0 ? "" : ", ") + during[i];
    }
    if (during.size() > kMostNamed) {
      text += fmt::format(" and {} more steps", during.size() - kMostNamed);
    }
    const Fault& fault = hypothesis.faults[0];
    return std::visit([&](const auto& kind) { return Words(bench, fault, kind); }, fault.kind) +
           ", " + text + ")";
  }
  for (const Fault& fault : hypothesis.faults) {
    if (!text.empty()) text += "; and ";
    text += std::visit([&](const auto& kind) { return Words(bench, fault, kind); }, fault.kind);
  }
  return text;
}

}  // namespace drycrank::diagnose
