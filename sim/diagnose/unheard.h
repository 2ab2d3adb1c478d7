// SPDX-License-Identifier: Apache-2.0
//
// What faults in the wires of a bus keep away: messages whose sender the computer does not hear
// (plant/hearing.h). To all that predicts readings each is as if it were not sent: a fault
// "message missing" beside those that are given.
//
// And what it tells that a display says nothing at all, or something after all:
//
// or what it shows to who looks at it:
//
//   log L = - 12 for each of its messages, and its look, that is not as the hypothesis has it, two
//           at most
#ifndef DRYCRANK_DIAGNOSE_UNHEARD_H_
#define DRYCRANK_DIAGNOSE_UNHEARD_H_

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <tuple>
#include <vector>

#include "diagnose/bus_signs.h"
#include "diagnose/reading.h"
#include "plant/hearing.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

// In a set of messages that do not come: the display is dark, or shows dashes.
std::string MarkOf(DisplayLook look);

class Unheard {
 public:
  // The bench must outlive it.
  explicit Unheard(const profile::Bench& bench);

  // Adds those messages to the faults.
  void AddTo(std::vector<profile::Fault>& faults) const;
  bool KeepsAny(std::span<const profile::Fault> faults) const;
  // What the display shows with them.
  DisplayLook LookOf(std::span<const profile::Fault> faults) const;

 private:
  // What touches the wires, without the size of the first; by that, what it keeps away.
  using Key = std::vector<std::tuple<std::size_t, std::string, std::string, int, int>>;
  struct Behind {
    std::set<std::string> messages;
    DisplayLook look = DisplayLook::kValues;
    friend bool operator==(const Behind&, const Behind&) = default;
  };
  using BySize = std::map<int, Behind>;
  void FindPlaces();
  bool Touches(const profile::Fault& fault) const;
  std::vector<const profile::Fault*> Touching(std::span<const profile::Fault> faults) const;
  Behind BehindOf(std::span<const profile::Fault* const> faults) const;
  const Behind& Kept(std::span<const profile::Fault* const> touching) const;

  const profile::Bench& bench_;
  std::shared_ptr<harness::BusNetwork> network_;  // none without wires of a bus
  std::vector<plant::Hearing> healthy_;
  std::set<std::string> places_;  // terminals, splices, circuits and plugs by which a node is wired
  mutable std::map<Key, BySize> known_;
};

// What came of the display's messages, on buses that have a node for it.
class DisplayHeard {
 public:
  // `look`: what somebody saw of it. Values or dashes count only where the controller was heard.
  DisplayHeard(const profile::Bench& bench, std::span<const Reading> readings,
               const std::vector<std::vector<double>>& observed,
               std::optional<DisplayLook> look = std::nullopt);

  int Unexplained(const std::set<std::string>& missing) const;
  double LogLike(const std::set<std::string>& missing) const;
  // Do both hypotheses say the same of the display?
  bool Alike(const std::set<std::string>& a, const std::set<std::string>& b) const;

 private:
  bool HasLook(const std::set<std::string>& missing) const;

  std::map<std::string, bool> came_;  // per message
  std::optional<DisplayLook> look_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_UNHEARD_H_
