// SPDX-License-Identifier: Apache-2.0
#include "daemon/engine_view.h"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "profile/controller_setup.h"
#include "types/limits.h"
#include "types/nth.h"

namespace drycrank::daemon {
namespace {

using Json = nlohmann::ordered_json;

double ValueOf(const standin::Controller& controller, const std::string& name) {
  const int index = controller.ValueIndex(name);
  return index < 0 ? 0 : controller.Value(index);
}

Json TimeOf(std::uint64_t count, TimeNs last_ns) {
  return count == 0 ? Json() : Json(ToSeconds(last_ns));
}

}  // namespace

std::string InWords(standin::SyncState state, standin::SyncReason reason, double rpm,
                    std::uint64_t losses) {
  std::string words = standin::Name(state);
  if (state != standin::SyncState::kStopped) words += fmt::format(" at {:.0f} r/min", rpm);
  if (reason != standin::SyncReason::kNone) words += fmt::format(": {}", standin::Name(reason));
  if (state != standin::SyncState::kSynchronised && losses == 0) return words;
  if (losses == 0) return words + ", never lost";
  return words + (losses == 1 ? ", lost once" : fmt::format(", lost {} times", losses));
}

EngineView::EngineView(const profile::Bench& bench)
    : bench_(bench),
      sparks_(kMaxCylinders + 1),
      trailing_(kMaxCylinders + 1),
      injections_(kMaxCylinders + 1) {
  if (bench.controller) edges_.resize(bench.controller->triggers.size());
}

void EngineView::OnEdge(const Edge& edge) {
  Seen& seen = Nth(edges_, edge.channel);
  ++seen.count;
  seen.last_ns = edge.t_ns;
  seen.high = edge.high;
}

// A coil fires when it goes off, an injection begins when its injector goes on.
void EngineView::OnOutput(const standin::OutputEvent& event) {
  if (event.kind == standin::OutputKind::kSwitch) return;
  const bool is_coil = IsCoil(event.kind);
  std::vector<Seen>& seen = SeenOf(event.kind);
  const auto cylinder = AsSize(event.cylinder);
  if (event.on == is_coil || cylinder >= seen.size()) return;
  ++seen[cylinder].count;
  seen[cylinder].last_ns = event.t_ns;
}

std::vector<EngineView::Seen>& EngineView::SeenOf(OutputKind kind) {
  if (kind == OutputKind::kTrailingCoil) return trailing_;
  return kind == OutputKind::kCoil ? sparks_ : injections_;
}

void EngineView::SayOutputs(const std::vector<Seen>& seen, Json& out) const {
  out = Json::object();
  for (const int cylinder : bench_.controller->decoder.firing_order) {
    const Seen& one = Nth(seen, cylinder);
    out[std::to_string(cylinder)] = {{"count", one.count},
                                     {"last_s", TimeOf(one.count, one.last_ns)}};
  }
}

void EngineView::Say(const standin::Controller& controller, Json& out) const {
  const auto losses = static_cast<std::uint64_t>(ValueOf(controller, "sync_losses"));
  const double rpm = ValueOf(controller, "engine_speed");
  const bool known = controller.sync_state() == standin::SyncState::kSynchronised;
  out["state"] = standin::Name(controller.sync_state());
  out["reason"] = standin::Name(controller.sync_reason());
  out["in_words"] = InWords(controller.sync_state(), controller.sync_reason(), rpm, losses);
  out["speed_rpm"] = rpm;
  out["sync_losses"] = losses;
  Json& cams = out["cam_angles_deg"] = Json::object();
  Json& edges = out["edges"] = Json::object();
  for (std::size_t i = 0; i < edges_.size(); ++i) {
    const std::string& name = bench_.controller->triggers[i].name;
    edges[name] = {{"count", edges_[i].count},
                   {"high", edges_[i].count > 0 ? Json(edges_[i].high) : Json()},
                   {"last_s", TimeOf(edges_[i].count, edges_[i].last_ns)}};
    const int cam = controller.ValueIndex("cam_angle." + name);
    if (cam >= 0) cams[name] = known ? Json(controller.Value(cam)) : Json();
  }
  SayOutputs(sparks_, out["sparks"]);
  if (bench_.controller->decoder.trailing_deg) SayOutputs(trailing_, out["trailing_sparks"]);
  SayOutputs(injections_, out["injections"]);
}

}  // namespace drycrank::daemon
