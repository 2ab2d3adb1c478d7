// SPDX-License-Identifier: Apache-2.0
//
// Faults, by the table in fault.h: what `at` and `with` name, and which parameters a kind has.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "profile/bus_nodes.h"
#include "profile/conductors.h"
#include "profile/keys_fault.h"
#include "profile/kinds.h"
#include "profile/load_scenario.h"
#include "profile/load_wheel_fault.h"
#include "profile/sensors.h"
#include "profile/table_reader.h"
#include "profile/triggers.h"
#include "types/nth.h"
#include "yaml/nearest.h"

namespace drycrank::profile {
namespace {

struct FaultContext {
  Problems& problems;
  const Bench& bench;
  Rows& rows;
  Fault& fault;
};

// Whether it is there.
bool CheckTerminalOr(FaultContext& f, const Ref& ref, const std::vector<std::string>& others,
                     const std::string& what) {
  if (std::find(others.begin(), others.end(), ref.text) != others.end()) return true;
  if (ref.text.find('.') != std::string::npos) return CheckTerminal(f.problems, f.bench, ref);
  f.problems.AddReference(ref.place, fmt::format("there is no {} '{}'", what, ref.text),
                          yaml::Suggest(ref.text, others, "a terminal is written CONNECTOR.PIN"));
  return false;
}

void CheckDevice(FaultContext& f, const Ref& ref) {
  std::vector<std::string> known = NamesOf(f.bench.triggers);
  for (const Sensor& sensor : f.bench.sensors) known.push_back(sensor.name);
  Resolve(f.problems, ref, known, "sensor or trigger");
}

// `with`: a second terminal, not the same. Whether there is one.
bool ReadWith(FaultContext& f, const Ref& at) {
  f.rows.Need("with");
  const auto with = f.rows->GetRef("with");
  if (!with) return false;
  f.fault.with = with->text;
  const bool known = CheckTerminal(f.problems, f.bench, *with);
  if (with->text == at.text) {
    f.rows->Complain("with", fmt::format("'at' and 'with' are both '{}'", at.text), "name another");
  }
  return known && with->text != at.text;
}

// A fault that nothing on the bench could notice is none. REQUIRES: the names are there
void CheckFelt(FaultContext& f, const Ref& at, bool is_felt) {
  if (is_felt) return;
  f.problems.Add(
      at.place,
      fmt::format("a fault at '{}' would do nothing: no supply, load, sensor, node of a bus or "
                  "input of the controller is wired to it",
                  at.text),
      "of a pair write the bus's 'nodes', of a display's supply its 'loads'; a spare takes the "
      "meter");
}

// A size at which the fault is none.
void CheckSize(FaultContext& f, const char* key, bool changes_nothing) {
  if (!changes_nothing || !f.rows->Has(key)) return;
  f.rows->Complain(key, "a size that changes nothing", "write another, or leave the fault out");
}

// Two places that wires join already, or that are one.
void CheckApart(FaultContext& f, const Ref& at, const std::string& other, const char* what) {
  if (!AreJoined(f.bench, at.text, other)) return;
  f.problems.Add(
      at.place,
      fmt::format("a fault at '{}' would do nothing: it is joined to {} already", at.text, what),
      "name another place");
}

// Parted, or with resistance in the way: what a terminal or a circuit can be.
void ReadParted(FaultContext& f, const Ref& at) {
  if (!CheckTerminalOr(f, at, CircuitNames(f.bench), "circuit")) return;
  CheckFelt(f, at, IsBetweenModelled(f.bench, at.text));
}

// Two terminals that belong to different wires. A swap is felt by either of them.
bool ReadTwo(FaultContext& f, const Ref& at, bool both_felt) {
  const bool known = CheckTerminal(f.problems, f.bench, at);
  if (!ReadWith(f, at) || !known) return false;
  const bool here = IsModelled(f.bench, at.text), there = IsModelled(f.bench, f.fault.with);
  CheckFelt(f, at, both_felt ? here && there : here || there);
  return true;
}

// Shorted to a rail: what a terminal's wire can be, and a splice.
void ReadShort(FaultContext& f, const Ref& at, double& ohm, std::string Supply::*pole) {
  if (CheckTerminalOr(f, at, f.bench.splices, "splice")) {
    CheckFelt(f, at, IsModelled(f.bench, at.text));
    if (!f.bench.supplies.empty() && at.text == f.bench.supplies[0].*pole) {
      CheckApart(f, at, at.text, "that pole of the supply");
    }
  }
  f.rows.Take("ohm", &ohm);
}

// One reader for each kind.

void Read(FaultContext& f, const Ref& at, fault::Open& /*kind*/) { ReadParted(f, at); }

void Read(FaultContext& f, const Ref& at, fault::SeriesResistance& kind) {
  ReadParted(f, at);
  f.rows.Take("ohm", &kind.ohm);
}

void Read(FaultContext& f, const Ref& at, fault::ShortToGround& kind) {
  ReadShort(f, at, kind.ohm, &Supply::minus);
}

void Read(FaultContext& f, const Ref& at, fault::ShortToSupply& kind) {
  ReadShort(f, at, kind.ohm, &Supply::plus);
}

void Read(FaultContext& f, const Ref& at, fault::ShortTogether& kind) {
  if (ReadTwo(f, at, true)) CheckApart(f, at, f.fault.with, "the other");
  f.rows.Take("ohm", &kind.ohm);
}

void Read(FaultContext& f, const Ref& at, fault::Leakage& kind) {
  const bool known = CheckTerminal(f.problems, f.bench, at);
  const bool has_other = ReadWith(f, at);
  f.rows.Take("ohm", &kind.ohm);
  if (!known || (f.rows->Has("with") && !has_other) || f.bench.supplies.empty()) return;
  const std::string& other = has_other ? f.fault.with : f.bench.supplies[0].minus;
  CheckFelt(f, at, IsModelled(f.bench, at.text) && IsModelled(f.bench, other));
  if (at.text == other || has_other) {
    CheckApart(f, at, other, has_other ? "the other" : "the supply's minus");
  }
}

void Read(FaultContext& f, const Ref& at, fault::TerminalsSwapped& /*kind*/) {
  ReadTwo(f, at, false);
}

void Read(FaultContext& f, const Ref& at, fault::ConnectorsSwapped& /*kind*/) {
  f.rows.Need("with");
  const auto with = f.rows->GetRef("with");
  const auto names = NamesOf(f.bench.connectors);
  const int a = Resolve(f.problems, at, names, "connector");
  const int b = with ? Resolve(f.problems, *with, names, "connector") : -1;
  if (with) f.fault.with = with->text;
  if (a < 0 || b < 0) return;
  const Connector& first = Nth(f.bench.connectors, a);
  const Connector& second = Nth(f.bench.connectors, b);
  if (a == b) {
    f.rows->Complain("with", fmt::format("'at' and 'with' are both '{}'", at.text), "name another");
  } else if (first.family.empty() || first.family != second.family) {
    f.rows->Complain("with",
                     fmt::format("'{}' does not fit where '{}' belongs", second.name, first.name),
                     "only connectors with the same 'family' can be swapped");
  } else if (first.pins != second.pins) {
    f.rows->Complain("with", fmt::format("'{}' has other pins than '{}'", second.name, first.name),
                     "swap connectors with the same pins");
  }
}

void Read(FaultContext& f, const Ref& at, fault::GroundOffset& kind) {
  CheckTerminal(f.problems, f.bench, at);
  if (f.rows.Take("volts", &kind.volts)) CheckSize(f, "volts", kind.volts == 0);
}

void Read(FaultContext& f, const Ref& at, fault::SupplyOff& kind) {
  std::vector<std::string> names = NamesOf(f.bench.supplies);
  if (f.bench.controller) {
    for (const auto& output : f.bench.controller->references) names.push_back(output.terminal);
  }
  Resolve(f.problems, at, names, "supply or 5 V output");
  if (f.rows.Take("volts", &kind.volts)) CheckSize(f, "volts", kind.volts == 0);
}

void Read(FaultContext& f, const Ref& at, fault::NotPlugged& /*kind*/) {
  Resolve(f.problems, at, NamesOf(f.bench.connectors), "connector");
}

void Read(FaultContext& f, const Ref& at, fault::RelayStays& kind) {
  Resolve(f.problems, at, NamesOf(f.bench.relays), "relay");
  f.rows.Take("stays", &kind.stays);
}

void Read(FaultContext& f, const Ref& at, fault::Termination& kind) {
  Resolve(f.problems, at, BusNodeNames(f.bench), "node of a bus (BUS.NODE)");
  const BusNode* node = FindBusNode(f.bench, at.text);
  const bool given = f.rows.Take("ohm", &kind.ohm);
  if (given && node != nullptr) CheckSize(f, "ohm", kind.ohm == node->termination_ohm);
}

void Read(FaultContext& f, const Ref& at, fault::NotFitted& /*kind*/) { CheckDevice(f, at); }

template <WheelKind Kind>
void Read(FaultContext& f, const Ref& at, Kind& kind) {
  ReadWheelFault(f.bench, f.rows, at, kind);
}

// A sensor, and a value in the unit of what it measures. Whether it was given.
bool ReadOfSensor(FaultContext& f, const Ref& at, double& value) {
  const int index = Resolve(f.problems, at, NamesOf(f.bench.sensors), "sensor");
  std::string unit;
  if (index >= 0) {
    const Sensor& sensor = Nth(f.bench.sensors, index);
    unit = Nth(f.bench.stimuli, sensor.stimulus).unit;
  }
  return f.rows.Take("value", &value, unit);
}

void Read(FaultContext& f, const Ref& at, fault::SensorOffset& kind) {
  if (ReadOfSensor(f, at, kind.value)) CheckSize(f, "value", kind.value == 0);
}

void Read(FaultContext& f, const Ref& at, fault::SensorStuck& kind) {
  ReadOfSensor(f, at, kind.value);
}

void Read(FaultContext& f, const Ref& at, fault::Layout& kind) {
  const SignalRef ref = ResolveSignal(f.problems, f.bench, at);
  std::string unit;
  int last_bit = 511;
  if (ref.signal >= 0) {
    unit = SignalAt(f.bench, ref).unit;
    last_bit = std::max(0, MessageAt(f.bench, {ref.bus, ref.message}).length_bytes * 8 - 1);
  }
  if (!f.bench.display) {
    f.rows->Complain("kind", "the bench has no display", "a 'layout' fault is the display's");
  }
  ByteOrder order = ByteOrder::kLittle;
  if (f.rows.Take("byte_order", &order)) kind.byte_order = order;
  f.rows.Take("scale", &kind.scale);
  f.rows.Take("offset", &kind.offset, unit);
  f.rows.TakeWhole("start_bit", &kind.start_bit, last_bit);
  for (const char* key : {"byte_order", "scale", "offset", "start_bit"}) {
    if (f.rows->Has(key)) return;
  }
  f.problems.Add(f.rows->place(), f.rows->title() + " changes nothing",
                 "add one of byte_order, scale, offset, start_bit");
}

void Read(FaultContext& f, const Ref& at, fault::Calibration& kind) {
  const Controller none;
  const Controller& controller = f.bench.controller ? *f.bench.controller : none;
  const int index = Resolve(f.problems, at, NamesOf(controller.analog), "analog channel");
  const std::string unit = index < 0 ? std::string() : Nth(controller.analog, index).unit;
  f.rows.Take("gain", &kind.gain);
  f.rows.Take("value", &kind.value, unit);
  if (!f.rows->Has("gain") && !f.rows->Has("value")) {
    f.problems.Add(f.rows->place(), f.rows->title() + " changes nothing",
                   "add 'gain', 'value' or both");
  }
  CheckSize(f, f.rows->Has("gain") ? "gain" : "value", kind.gain == 1 && kind.value == 0);
}

void Read(FaultContext& f, const Ref& at, fault::Told& kind) {
  ReadToldFault(f.bench, f.rows, at, kind);
}

template <BusKind Kind>
void Read(FaultContext& f, const Ref& at, Kind& kind) {
  ReadBusFault(f.bench, f.rows, at, kind);
}

void ReadTime(FaultContext& f, const std::vector<std::string>* steps) {
  f.rows.Take("from_s", &f.fault.from_s);
  f.rows.Take("to_s", &f.fault.to_s);
  if (f.fault.to_s && *f.fault.to_s <= f.fault.from_s.value_or(0)) {
    f.rows->Complain("to_s", fmt::format("it ends at {:g} s, not after its begin", *f.fault.to_s),
                     "write to_s later than from_s");
  }
  f.rows.Take("every_s", &f.fault.every_s);
  f.rows.Take("for_s", &f.fault.for_s);
  if (f.rows->Has("every_s") != f.rows->Has("for_s")) {
    f.rows->Complain(f.rows->Has("every_s") ? "every_s" : "for_s", "one of every_s and for_s",
                     "write both: every_s: 2 s, for_s: 100 ms");
  } else if (f.fault.every_s && f.fault.for_s && *f.fault.for_s >= *f.fault.every_s) {
    f.rows->Complain("for_s", "it never goes",
                     "write for_s shorter than every_s, or leave both out");
  }
  if (steps == nullptr) return;  // there are no steps to name
  f.fault.during = ReadDuring(f.rows.reader(), *steps);
  if (f.rows->Has("during") && (f.rows->Has("from_s") || f.rows->Has("to_s"))) {
    f.rows->Complain("during", "steps and seconds", "write either 'during' or 'from_s' and 'to_s'");
  }
}

}  // namespace

Fault LoadFault(Problems& problems, const Bench& bench, const std::vector<std::string>* steps,
                const Node& node) {
  Fault fault;
  fault.place = node.Where();
  Reader r(problems, node, "fault");
  Rows rows(r);
  FaultContext f{problems, bench, rows, fault};
  rows.Know(kFaultKeys);
  if (steps != nullptr) rows.Know(kFaultStepKeys);
  rows.Need("kind");
  rows.Need("at");
  const int kind = r.WordIndex("kind", FaultKindNames(),
                               fmt::format("known: {}", fmt::join(FaultKindsInWords(), "; ")));
  const auto at = r.GetRef("at");
  r.GetText("name", &fault.name);
  ReadTime(f, steps);
  if (kind < 0 || !at) {
    r.PassOverOtherKeys();
    return fault;
  }
  fault.kind = KindAt<FaultKind>(kind);
  fault.at = at->text;
  if (fault.name.empty()) fault.name = fmt::format("{} {}", Name(fault.kind), fault.at);
  KnowKind(rows, kFaultKinds, Name(fault.kind));
  std::visit([&](auto& of) { Read(f, *at, of); }, fault.kind);
  return fault;
}

}  // namespace drycrank::profile
