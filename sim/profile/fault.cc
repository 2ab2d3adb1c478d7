// SPDX-License-Identifier: Apache-2.0
#include "profile/fault.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "profile/kinds.h"

namespace drycrank::profile {

const char* Name(Into into) {
  switch (into) {
    case Into::kHarness:
      return "harness";
    case Into::kDevice:
      return "sensor and wheel";
    case Into::kBus:
      return "bus";
    case Into::kStandin:
      return "stand-in";
  }
  return "";
}

const char* Name(const FaultKind& kind) { return WordOf(kind); }

std::vector<std::string> FaultKindNames() { return WordsOf<FaultKind>(); }

std::vector<std::string> FaultKindsInWords() {
  const std::vector<std::string> names = FaultKindNames();
  std::vector<std::string> lines;
  for (const Into into : {Into::kHarness, Into::kDevice, Into::kBus, Into::kStandin}) {
    std::vector<std::string> its;
    for (std::size_t k = 0; k < names.size(); ++k) {
      const FaultKind kind = KindAt<FaultKind>(static_cast<int>(k));
      const Into its_into = std::visit([](const auto& of) { return of.kInto; }, kind);
      if (its_into == into) its.push_back(names[k]);
    }
    lines.push_back(fmt::format("{}: {}", Name(into), fmt::join(its, ", ")));
  }
  return lines;
}

}  // namespace drycrank::profile
