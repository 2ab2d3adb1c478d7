// SPDX-License-Identifier: Apache-2.0
//
// The engine as the controller stand-in sees it and drives it, for whoever asks while a bench runs:
// state, speed, cam angles, losses, the last edge at each trigger input, what coils and injectors
// did.
#ifndef DRYCRANK_DAEMON_ENGINE_VIEW_H_
#define DRYCRANK_DAEMON_ENGINE_VIEW_H_

#include <cstdint>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "run/observer.h"
#include "standin/controller.h"
#include "types/time.h"

namespace drycrank::daemon {

// "synchronised at 903 r/min, never lost"; "searching at 180 r/min: gap not found"; "stopped: no
// teeth".
std::string InWords(standin::SyncState state, standin::SyncReason reason, double rpm,
                    std::uint64_t losses);

class EngineView : public run::RunObserver {
 public:
  // The bench must outlive it.
  explicit EngineView(const profile::Bench& bench);

  void OnEdge(const Edge& edge) override;
  void OnOutput(const standin::OutputEvent& event) override;

  // {"state", "reason", "in_words", "speed_rpm", "sync_losses", "cam_angles_deg": {NAME: or null},
  // "edges": {NAME: {"count", "high", "last_s"}}, "sparks" and "injections": {CYLINDER: {"count",
  // "last_s"}}}, and where it fires them "trailing_sparks".
  // A cam has an angle while the position is known; what never came has no time: null.
  void Say(const standin::Controller& controller, nlohmann::ordered_json& out) const;

 private:
  struct Seen {
    std::uint64_t count = 0;
    TimeNs last_ns = 0;
    bool high = false;
  };
  std::vector<Seen>& SeenOf(OutputKind kind);
  void SayOutputs(const std::vector<Seen>& seen, nlohmann::ordered_json& out) const;

  const profile::Bench& bench_;
  std::vector<Seen> edges_;                // per trigger input
  std::vector<Seen> sparks_, trailing_, injections_;  // per cylinder, from 1
};

}  // namespace drycrank::daemon

#endif  // DRYCRANK_DAEMON_ENGINE_VIEW_H_
