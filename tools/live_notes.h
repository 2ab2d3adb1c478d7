// SPDX-License-Identifier: Apache-2.0
//
// What a bench run live has to say, on the terminal while it runs: notes, and a bus that is lost
// and comes back. A thread of its own writes it, since a terminal may stand still (a paused one
// does) and the bench must not.
#ifndef DRYCRANK_TOOLS_LIVE_NOTES_H_
#define DRYCRANK_TOOLS_LIVE_NOTES_H_

#include "io/background_writer.h"
#include "profile/bench.h"
#include "record/text_file.h"
#include "run/observer.h"

namespace drycrank::tools {

class LiveNotes : public run::RunObserver {
 public:
  explicit LiveNotes(const profile::Bench& bench);

  void OnSample(TimeNs t_ns) override;
  void OnFault(const std::string& name, bool in_force, TimeNs t_ns) override;
  void OnNote(const std::string& note, TimeNs t_ns) override;
  void OnUnobservable(int bus, const std::string& why, TimeNs t_ns) override;
  void OnObservable(int bus, TimeNs t_ns) override;

 private:
  const profile::Bench& bench_;
  record::TextFile terminal_;
  io::BackgroundWriter background_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_LIVE_NOTES_H_
