// SPDX-License-Identifier: Apache-2.0
//
// The nets that hold a source (a supply's plus, a reference output of the controller) and those
// that hold a ground (a supply's minus, the controller's grounds). Internal to schedule/.
#ifndef DRYCRANK_SCHEDULE_POWER_NETS_H_
#define DRYCRANK_SCHEDULE_POWER_NETS_H_

#include <set>
#include <string>
#include <vector>

#include "schedule/check_parts.h"

namespace drycrank::schedule {

struct SourceAt {
  std::string title;  // "supply battery", "5 V output ECU.4"
  std::string terminal;
  double volts = 0;
  bool is_reference = false;
};

class PowerNets {
 public:
  explicit PowerNets(const Check& check);

  const std::vector<SourceAt>& sources() const { return sources_; }
  const std::vector<std::string>& ground_ends() const { return ground_ends_; }
  const std::set<int>& grounds() const { return grounds_; }
  // By wires, or through the contact of a relay at rest or a diode.
  bool IsGround(const std::string& end) const { return grounded_.contains(nets_.Of(end)); }
  bool IsSupply(const std::string& end) const { return supplied_.contains(nets_.Of(end)); }

 private:
  void Collect(const profile::Bench& bench);
  void GoThroughParts(const profile::Bench& bench);

  const Nets& nets_;
  std::vector<SourceAt> sources_;
  std::vector<std::string> ground_ends_;
  std::set<int> grounds_, supplies_;    // by wires
  std::set<int> grounded_, supplied_;  // and through parts
};

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_POWER_NETS_H_
