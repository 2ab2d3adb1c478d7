// SPDX-License-Identifier: Apache-2.0
#include "profile/fault_priors.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <iterator>

#include "profile/keys_fault_priors.h"

namespace drycrank::profile {
namespace {

constexpr auto kUsual = [] {
  std::array<FaultPrior, std::size(kFaultPriorKeys)> usual;
  std::ranges::transform(kFaultPriorKeys, usual.begin(), [](const FaultPriorKey& key) {
    return FaultPrior{key.kind, key.weight};
  });
  return usual;
}();

}  // namespace

std::span<const FaultPrior> UsualFaultPriors() { return kUsual; }

double PriorOf(const FaultPriors& priors, std::string_view kind) {
  const auto own = priors.find(std::string(kind));
  if (own != priors.end()) return own->second;
  const auto usual = std::find_if(std::begin(kUsual), std::end(kUsual),
                                  [&](const FaultPrior& prior) { return prior.kind == kind; });
  assert(usual != std::end(kUsual));
  return usual->weight;
}

}  // namespace drycrank::profile
