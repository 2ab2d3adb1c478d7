// SPDX-License-Identifier: Apache-2.0
//
// What a controller has been told instead: one setting, at the place that has it.
#include <fmt/format.h>

#include "profile/keys_fault.h"
#include "profile/load_scenario.h"
#include "profile/table_reader.h"
#include "profile/told_controller.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

// Each once, and as many as the engine has.
void ReadToldOrder(const Bench& bench, Rows& rows, std::vector<int>* order) {
  ReadOrder(rows.reader(), order);
  const std::size_t cylinders = bench.engine.firing_order.size();
  if (order->empty() || order->size() == cylinders) return;
  rows->Complain("firing_order", fmt::format("a firing order of {} cylinders", order->size()),
                 fmt::format("the engine has {}", cylinders));
  order->clear();
}

void ReadToldWheel(Rows& rows, std::string* wheel) {
  if (!rows.Take("wheel", wheel) || WheelInShort(*wheel)) return;
  rows->Complain("wheel", fmt::format("a wheel '{}'", *wheel),
                 "write places and how many of the last are without tooth: 36-1");
}

// What has settings that can be told wrong.
enum class Has { kDecoder, kChannel, kProtection };

Has PlaceOf(const Bench& bench, const std::string& at) {
  if (at == kDecoderPlace) return Has::kDecoder;
  return IndexOf(bench.protections, at) >= 0 ? Has::kProtection : Has::kChannel;
}

Has WhoHas(std::string_view setting) {
  if (setting == "firing_order" || setting == "advance_deg" || setting == "trailing_deg") {
    return Has::kDecoder;
  }
  return IsOfProtection(setting) ? Has::kProtection : Has::kChannel;
}

// What is set belongs to the place that `at` names.
void CheckToldPlace(Rows& rows, const Ref& at, std::string_view setting, Has place) {
  if (setting.empty() || WhoHas(setting) == place) return;
  const char* const remedy = WhoHas(setting) == Has::kDecoder ? "write at: decoder"
                             : WhoHas(setting) == Has::kProtection
                                 ? "name a protection of the bench"
                                 : "name a trigger channel of the "
                                   "controller";
  rows->problems().Add(at.place, fmt::format("'{}' is not a setting of '{}'", setting, at.text),
                       remedy);
}

void ReadToldProtection(const Bench& bench, Rows& rows, const Ref& at, fault::Told& kind) {
  const int index = IndexOf(bench.protections, at.text);
  rows.Take("limit", &kind.limit, index < 0 ? "" : Nth(bench.protections, index).unit);
  rows.Take("delay_ms", &kind.delay_ms);
  fault::ToldToAct acts = fault::ToldToAct::kNever;
  if (rows.Take("acts", &acts)) kind.acts = acts;
}

}  // namespace

void ReadToldFault(const Bench& bench, Rows& rows, const Ref& at, fault::Told& kind) {
  const Controller none;
  const Controller& controller = bench.controller ? *bench.controller : none;
  std::vector<std::string> places = NamesOf(controller.triggers);
  places.emplace_back(kDecoderPlace);
  for (const Protection& protection : bench.protections) places.push_back(protection.name);
  const bool known = Resolve(rows->problems(), at, places, "trigger channel or protection") >= 0;
  ReadToldOrder(bench, rows, &kind.firing_order);
  rows.Take("advance_deg", &kind.advance_deg);
  if (rows.Take("trailing_deg", &kind.trailing_deg) && !controller.decoder.trailing_deg) {
    rows->Complain("trailing_deg", "a controller that fires no trailing coils",
                   "write trailing_deg of its decoder first");
  }
  rows.Take("offset_deg", &kind.offset_deg);
  ActiveEdge edge = ActiveEdge::kFalling;
  if (rows.Take("edge", &edge)) kind.edge = edge;
  ReadToldWheel(rows, &kind.wheel);
  ReadToldProtection(bench, rows, at, kind);
  int settings = 0;
  for (const Row& row : kToldKeys) settings += rows->Has(row.key) ? 1 : 0;
  if (settings != 1) {
    rows->problems().Add(rows->place(),
                         fmt::format("{} tells {}", rows->title(),
                                     settings == 0 ? "nothing" : "more than one setting"),
                         "write one of firing_order, advance_deg, trailing_deg, offset_deg, edge, "
                         "wheel, limit, delay_ms, acts");
  } else if (known) {
    CheckToldPlace(rows, at, SettingOf(kind), PlaceOf(bench, at.text));
  }
  for (const char* key : {"from_s", "to_s", "every_s", "for_s", "during"}) {
    if (!rows->Has(key)) continue;
    rows->Complain(key, "a controller is told its settings before a run",
                   "leave the time out: the fault is there in the whole run");
  }
}

}  // namespace drycrank::profile
