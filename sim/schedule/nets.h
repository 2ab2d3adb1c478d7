// SPDX-License-Identifier: Apache-2.0
//
// Which ends of a schedule its wires join to one another: a net is a set of terminals and splices
// with a way of wires between any two. Devices join nothing here, but for relays: pulled in.
#ifndef DRYCRANK_SCHEDULE_NETS_H_
#define DRYCRANK_SCHEDULE_NETS_H_

#include <map>
#include <string>
#include <vector>

#include "schedule/schedule.h"
#include "types/nth.h"

namespace drycrank::schedule {

class Nets {
 public:
  // `bench`: whose relays; null: none.
  Nets(const Schedule& schedule, const profile::Bench* bench);

  // The net's number, [0, count()); -1 for an end without a wire.
  int Of(const std::string& end) const;
  int count() const { return static_cast<int>(ends_.size()); }
  const std::vector<std::string>& EndsOf(int net) const { return Nth(ends_, net); }
  // Indices into the schedule's wires. A wire that ends where it begins is in none.
  const std::vector<int>& WiresOf(int net) const { return Nth(wires_, net); }
  const std::vector<int>& WiresAt(const std::string& end) const;

  // The wires of the way with fewest parts between two ends of one net, in order.
  std::vector<int> Way(const std::string& from, const std::string& to) const;

 private:
  void JoinRelays(const profile::Bench& bench);
  // The other side of a relay's contact, where that has a wire; empty: no such terminal.
  std::string BehindRelay(const std::string& end) const;

  const Schedule& schedule_;
  std::map<std::string, std::string> relay_;  // each side of a contact, and the other
  std::map<std::string, int> net_;
  std::map<std::string, std::vector<int>> wires_at_;
  std::vector<std::vector<std::string>> ends_;
  std::vector<std::vector<int>> wires_;
};

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_NETS_H_
