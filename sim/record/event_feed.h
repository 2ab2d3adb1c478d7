// SPDX-License-Identifier: Apache-2.0
//
// Edges, outputs and motion of a record, fed to a checker, and to whoever watches, in the order in which
// the run fed them: what came before a step, before that step.
#ifndef DRYCRANK_RECORD_EVENT_FEED_H_
#define DRYCRANK_RECORD_EVENT_FEED_H_

#include <fstream>
#include <optional>
#include <string>
#include <vector>

#include "check/checker.h"
#include "record/edge_file.h"
#include "run/observer.h"
#include "types/crank_motion.h"

namespace drycrank::record {

class EventFeed {
 public:
  // Both must outlive it; `watcher` may be null. Nothing is read for a checker that looks at frames alone.
  EventFeed(const std::string& folder, check::Checker& checker, run::RunObserver* watcher);

  void FeedBefore(TimeNs t_ns);
  // After the last: what could not be read, for the notes.
  std::vector<std::string> Problems() const;

 private:
  bool FindEdge();
  void FeedMotions(TimeNs up_to_ns);
  void FindMotion();
  void Dispatch(const ChannelEdge& edge);

  check::Checker& checker_;
  run::RunObserver* watcher_;
  bool wanted_;
  std::ifstream edge_stream_, motion_stream_;
  std::optional<EdgeReader> edges_;
  ReadBlock block_;
  std::size_t next_edge_ = 0;
  std::optional<CrankMotion> motion_;
  std::string motion_problem_;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_EVENT_FEED_H_
