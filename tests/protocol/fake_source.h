// SPDX-License-Identifier: Apache-2.0
//
// A controller's answers for tests: values by parameter, and trouble codes. All invented.
#ifndef DRYCRANK_TESTS_PROTOCOL_FAKE_SOURCE_H_
#define DRYCRANK_TESTS_PROTOCOL_FAKE_SOURCE_H_

#include <map>
#include <string>
#include <vector>

#include "protocol/answer_source.h"

namespace drycrank::protocol {

class FakeSource : public AnswerSource {
 public:
  bool HasPid(int pid) const override { return values.count(pid) > 0; }
  double PidValue(int pid) const override { return values.at(pid); }
  std::span<const StoredTrouble> Troubles() const override { return troubles; }
  std::string_view VehicleId() const override { return vehicle_id; }
  void ClearTroubles() override { troubles.clear(); }

  std::map<int, double> values;
  std::vector<StoredTrouble> troubles;
  std::string vehicle_id = "INVENTED000000001";
};

}  // namespace drycrank::protocol

#endif  // DRYCRANK_TESTS_PROTOCOL_FAKE_SOURCE_H_
