// SPDX-License-Identifier: Apache-2.0
#include "profile/expectation.h"

#include "profile/kinds.h"

namespace drycrank::profile {

const char* Name(const ExpectationKind& kind) { return WordOf(kind); }

const Condition* ConditionOf(const ExpectationKind& kind) {
  return std::visit(
      [](const auto& k) -> const Condition* {
        if constexpr (requires { k.condition; }) return &k.condition;
        return nullptr;
      },
      kind);
}

Needs NeedsOf(const ExpectationKind& kind) {
  return std::visit([]<class Kind>(const Kind&) { return Kind::kNeeds; }, kind);
}

const Question* QuestionOf(const ExpectationKind& kind) {
  return std::visit(
      [](const auto& k) -> const Question* {
        if constexpr (requires { k.question; }) return &k.question;
        return nullptr;
      },
      kind);
}

}  // namespace drycrank::profile
