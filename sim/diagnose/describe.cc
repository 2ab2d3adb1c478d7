// SPDX-License-Identifier: Apache-2.0
//
// Hypotheses in words that name terminals.
#include <fmt/format.h>

#include <cmath>

#include "diagnose/hypothesis.h"
#include "types/unit.h"

namespace drycrank::diagnose {
namespace {

using profile::Bench;
using profile::Fault;
using profile::FaultKind;

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
  const std::string& label = bench.connectors[static_cast<std::size_t>(index)].label;
  return label.empty() ? terminal : fmt::format("{} ({})", terminal, label);
}

bool IsCircuit(const Bench& bench, const std::string& name) {
  for (const profile::Wire& wire : bench.wires) {
    if (wire.circuit == name) return true;
  }
  return false;
}

std::string Ohm(double ohm) {
  return ohm < 1000 ? WithUnit(fmt::format("{:.3g}", ohm), "ohm")
                    : WithUnit(fmt::format("{:.3g}", ohm / 1000), "kohm");
}

std::string Layout(const Fault& fault) {
  if (fault.byte_order) return "byte order";
  if (fault.scale) return fmt::format("scale {:.4g}", *fault.scale);
  return fmt::format("offset {:.4g}", fault.offset.value_or(0));
}

std::string Words(const Bench& bench, const Fault& fault) {
  switch (fault.kind) {
    case FaultKind::kOpen:
      if (IsCircuit(bench, fault.at)) {
        return fmt::format("wire {} open ({})", fault.at, Ends(bench, fault.at));
      }
      return fmt::format("contact {} open", Pin(bench, fault.at));
    case FaultKind::kShortToGround:
      return fmt::format("wire at {} short to ground", Pin(bench, fault.at));
    case FaultKind::kShortToSupply:
      return fmt::format("wire at {} short to supply", Pin(bench, fault.at));
    case FaultKind::kShortTogether:
      return fmt::format("pins {} and {} shorted", fault.at, Pin(bench, fault.with));
    case FaultKind::kSeriesResistance:
      return fmt::format("about {} extra resistance at contact {}", Ohm(fault.ohm),
                         Pin(bench, fault.at));
    case FaultKind::kLeakage:
      return fmt::format("leakage of {} at {}", Ohm(fault.ohm), Pin(bench, fault.at));
    case FaultKind::kTerminalsSwapped:
      return fmt::format("terminals {} and {} swapped", fault.at, Pin(bench, fault.with));
    case FaultKind::kConnectorsSwapped:
      return fmt::format("connectors {} and {} swapped", fault.at, fault.with);
    case FaultKind::kGroundOffset:
      return fmt::format("{:.3g} V in contact {}", fault.volts, Pin(bench, fault.at));
    case FaultKind::kNotFitted:
      return fmt::format("{} not fitted or its plug off", fault.at);
    case FaultKind::kWheelOffset:
      return fmt::format("wheel {} mounted {:.3g} crank degrees {}", fault.at, std::abs(fault.deg),
                         fault.deg < 0 ? "early" : "late");
    case FaultKind::kToothMissing:
      return fmt::format("a tooth of wheel {} missing", fault.at);
    case FaultKind::kSensorOffset:
      return fmt::format("sensor {} reads {:.3g} too high", fault.at, fault.value);
    case FaultKind::kCalibration:
      return fault.gain == 1
                 ? fmt::format("controller's table of {} wrong by {:+.3g}", fault.at, fault.value)
                 : fmt::format("controller's table of {} wrong by a factor of {:.3g}", fault.at,
                               fault.gain);
    case FaultKind::kLayout:
      return fmt::format("display reads {} with the wrong {}", fault.at, Layout(fault));
    case FaultKind::kMessageMissing:
      return fmt::format("controller does not send {}", fault.at);
    default:
      return fmt::format("{} {}", profile::Name(fault.kind), fault.at);
  }
}

}  // namespace

std::string Describe(const Bench& bench, const Hypothesis& hypothesis) {
  if (hypothesis.kind == "splice broken open") {
    std::string text = "splice broken open: ";
    for (std::size_t i = 0; i < hypothesis.faults.size(); ++i) {
      text += (i == 0 ? "" : ", ") + hypothesis.faults[i].at;
    }
    return text;
  }
  std::string text;
  for (const Fault& fault : hypothesis.faults) {
    if (!text.empty()) text += "; and ";
    text += Words(bench, fault);
  }
  return text;
}

}  // namespace drycrank::diagnose
