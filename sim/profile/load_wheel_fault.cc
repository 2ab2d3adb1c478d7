// SPDX-License-Identifier: Apache-2.0
#include "profile/load_wheel_fault.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/device_leads.h"
#include "profile/table_reader.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

const Trigger* FindTrigger(const Bench& bench, Rows& rows, const Ref& ref) {
  const int at = Resolve(rows->problems(), ref, NamesOf(bench.triggers), "trigger");
  return at < 0 ? nullptr : &Nth(bench.triggers, at);
}

// A size at which the fault is none.
void CheckSize(Rows& rows, const char* key, bool changes_nothing) {
  if (!changes_nothing || !rows->Has(key)) return;
  rows->Complain(key, "a size that changes nothing", "write another, or leave the fault out");
}

bool IsCoil(const Trigger* trigger) {
  return trigger == nullptr || GivenBy(trigger->pickup) == Gives::kCoil;
}

// A voltage that only a coil has.
void NeedCoil(Rows& rows, const Ref& at, const Trigger* trigger, const char* key) {
  if (IsCoil(trigger)) return;
  rows->Complain(key, fmt::format("the pickup of '{}' is no coil", at.text), "leave it out");
}

// A cam that something moves.
void CheckMoved(const Bench& bench, Rows& rows, const Ref& at) {
  const Trigger* trigger = FindTrigger(bench, rows, at);
  if (trigger == nullptr || trigger->advance_stimulus >= 0) return;
  rows->problems().Add(at.place, fmt::format("nothing moves the cam '{}'", at.text),
                       "name a trigger with 'advance', or use wheel_offset");
}

}  // namespace

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::WheelOffset& kind) {
  const Trigger* trigger = FindTrigger(bench, rows, at);
  const bool read = rows.Take("deg", &kind.deg);
  // In crank degrees: a wheel on the crank is back after one turn, one on the cam after two.
  const double turn_deg = trigger == nullptr ? 720 : ShaftTurnDeg(trigger->shaft, 720);
  CheckSize(rows, "deg", read && std::fmod(kind.deg, turn_deg) == 0);
}

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::ToothMissing& kind) {
  const Trigger* trigger = FindTrigger(bench, rows, at);
  const int teeth = trigger == nullptr ? 1000 : static_cast<int>(trigger->wheel.teeth.size());
  rows.TakeWhole("tooth", &kind.tooth, std::max(1, teeth));
}

// Degrees of its own shaft, clear of the wheel's own teeth.
void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::ExtraTooth& kind) {
  const Trigger* trigger = FindTrigger(bench, rows, at);
  const bool has_begin = rows.Take("begin_deg", &kind.begin_deg);
  const bool has_end = rows.Take("end_deg", &kind.end_deg);
  if (!has_begin || !has_end || trigger == nullptr) return;
  if (kind.end_deg <= kind.begin_deg) {
    rows->Complain("end_deg", "it ends before it begins", "write end_deg greater than begin_deg");
    return;
  }
  for (const Tooth& tooth : trigger->wheel.teeth) {
    for (const double turn : {0.0, 360.0}) {
      if (kind.begin_deg + turn <= tooth.end_deg && kind.end_deg + turn >= tooth.begin_deg) {
        rows->Complain("begin_deg",
                       fmt::format("the wheel has metal from {:g} to {:g} deg", tooth.begin_deg,
                                   tooth.end_deg),
                       "put it where there is air");
        return;
      }
    }
  }
}

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::WheelRunout& kind) {
  const Trigger* trigger = FindTrigger(bench, rows, at);
  rows.Take("at_deg", &kind.at_deg);
  rows.Take("swing", &kind.swing);
  if (kind.swing != 0) NeedCoil(rows, at, trigger, "swing");
  if (rows.Take("deg", &kind.deg)) CheckSize(rows, "deg", kind.deg == 0 && kind.swing == 0);
}

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at,
                    fault::PickupInverted& /*kind*/) {
  FindTrigger(bench, rows, at);
}

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::PickupStrength& kind) {
  if (!IsCoil(FindTrigger(bench, rows, at))) {
    rows->problems().Add(at.place, fmt::format("the pickup of '{}' is no coil", at.text),
                         "an air gap changes what a coil gives; name a trigger with one");
  }
  if (rows.Take("factor", &kind.factor)) CheckSize(rows, "factor", kind.factor == 1);
}

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::ElectricalNoise& kind) {
  const Trigger* trigger = FindTrigger(bench, rows, at);
  rows.Take("rate_hz", &kind.rate_hz);
  rows.Take("width_us", &kind.width_us);
  if (rows.Take("volts", &kind.volts)) NeedCoil(rows, at, trigger, "volts");
}

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::CamStuck& kind) {
  CheckMoved(bench, rows, at);
  rows.Take("deg", &kind.deg);
}

void ReadWheelFault(const Bench& bench, Rows& rows, const Ref& at, fault::CamSlow& kind) {
  CheckMoved(bench, rows, at);
  rows.Take("deg_per_s", &kind.deg_per_s);
}

}  // namespace drycrank::profile
