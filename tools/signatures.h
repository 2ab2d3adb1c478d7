// SPDX-License-Identifier: Apache-2.0
//
// Circuits of a walk that are not shown and that a person answers for: DIR/signatures, JSON lines, each
// on the disk before it is said to be kept (io/journal.h). Nothing is taken out: a signature that is
// revoked has a later line that says so, with who did it.
#ifndef DRYCRANK_TOOLS_SIGNATURES_H_
#define DRYCRANK_TOOLS_SIGNATURES_H_

#include <string>
#include <vector>

#include "check/coverage.h"

namespace drycrank::tools {

struct Signature {
  std::string circuit, why, by;
  bool revoked = false;
};

// What holds: the last word about each circuit, without those revoked. No file: none.
struct [[nodiscard]] LoadedSignatures {
  std::vector<Signature> signatures;
  std::string problem;
};
LoadedSignatures LoadSignatures(const std::string& folder);

// Empty when it is kept.
[[nodiscard]] std::string KeepSignature(const std::string& folder, const Signature& signature);

// Only circuits that are not shown can be signed over: a failed one is not.
void SignOver(const std::vector<Signature>& signatures,
              std::vector<check::CircuitCoverage>& circuits);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_SIGNATURES_H_
