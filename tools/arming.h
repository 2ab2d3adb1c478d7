// SPDX-License-Identifier: Apache-2.0
//
// --arm WHAT and --by WHO: which hardware may be driven, and who says so. Before anything is sent the
// cautions are shown, what would be driven and how it is reached. On a terminal it is asked in any case;
// without one both must be given. Only what was shown is armed (bus/can_bus.h), and the record keeps it.
#ifndef DRYCRANK_TOOLS_ARMING_H_
#define DRYCRANK_TOOLS_ARMING_H_

#include <CLI/CLI.hpp>
#include <optional>
#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "record/record.h"

namespace drycrank::tools {

struct ArmingWish {
  std::vector<std::string> what;  // "can0", "can1"
  std::string by;
  bool given() const { return !what.empty(); }
};
// `by`: what --by is for, of a command that leaves no record.
void AddArmingOptions(CLI::App& app, ArmingWish& wish,
                      const char* by = "Who says so; is kept in the record");

struct [[nodiscard]] Arming {
  bool may_drive = true;               // false: it has been said why; drive nothing
  std::optional<record::Armed> armed;  // nothing: no hardware is driven
};
// `buses` may hold nullptr. What --arm names and is not there is refused, with what is. `outputs`: the bench's own, which the caller arms when it may.
Arming Arm(const std::vector<bus::CanBus*>& buses, const ArmingWish& wish,
           const std::vector<bus::Driven>& outputs = {});

// Just now, by the clock of the wall.
record::Armed ArmedNow(const std::vector<bus::Driven>& what, const std::string& by);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_ARMING_H_
