// SPDX-License-Identifier: Apache-2.0
//
// What a controller has been told instead: one setting, at the place that has it.
#include <fmt/format.h>

#include "profile/keys_fault.h"
#include "profile/load_scenario.h"
#include "profile/table_reader.h"
#include "profile/told_controller.h"

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

// What is set belongs to the place that `at` names.
void CheckToldPlace(Rows& rows, const Ref& at, std::string_view setting, bool of_decoder) {
  const bool decoders = setting == "firing_order" || setting == "advance_deg";
  if (setting.empty() || decoders == of_decoder) return;
  rows->problems().Add(at.place, fmt::format("'{}' is not a setting of '{}'", setting, at.text),
                       decoders ? "write at: decoder" : "name a trigger channel of the controller");
}

}  // namespace

void ReadToldFault(const Bench& bench, Rows& rows, const Ref& at, fault::Told& kind) {
  const Controller none;
  const Controller& controller = bench.controller ? *bench.controller : none;
  std::vector<std::string> places = NamesOf(controller.triggers);
  places.emplace_back(kDecoderPlace);
  const bool known = Resolve(rows->problems(), at, places, "trigger channel") >= 0;
  ReadToldOrder(bench, rows, &kind.firing_order);
  rows.Take("advance_deg", &kind.advance_deg);
  rows.Take("offset_deg", &kind.offset_deg);
  ActiveEdge edge = ActiveEdge::kFalling;
  if (rows.Take("edge", &edge)) kind.edge = edge;
  ReadToldWheel(rows, &kind.wheel);
  int settings = 0;
  for (const Row& row : kToldKeys) settings += rows->Has(row.key) ? 1 : 0;
  if (settings != 1) {
    rows->problems().Add(rows->place(),
                         fmt::format("{} tells {}", rows->title(),
                                     settings == 0 ? "nothing" : "more than one setting"),
                         "write one of firing_order, advance_deg, offset_deg, edge, wheel");
  } else if (known) {
    CheckToldPlace(rows, at, SettingOf(kind), at.text == kDecoderPlace);
  }
  for (const char* key : {"from_s", "to_s", "every_s", "for_s", "during"}) {
    if (!rows->Has(key)) continue;
    rows->Complain(key, "a controller is told its settings before a run",
                   "leave the time out: the fault is there in the whole run");
  }
}

}  // namespace drycrank::profile
