// SPDX-License-Identifier: Apache-2.0
//
// A problem in a user's file: where it is, what is wrong, what would be right. Printed as
//   file:line:column: what; remedy
#ifndef DRYCRANK_TYPES_DIAGNOSTIC_H_
#define DRYCRANK_TYPES_DIAGNOSTIC_H_

#include <string>
#include <vector>

namespace drycrank {

struct Place {
  std::string file;
  int line = 0;    // from 1; 0 when the problem has no line
  int column = 0;  // from 1

  friend bool operator==(const Place&, const Place&) = default;
};

struct Diagnostic {
  Place place;
  std::string what;
  std::string remedy;  // may be empty
};

using Diagnostics = std::vector<Diagnostic>;

std::string Format(const Diagnostic& diagnostic);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_DIAGNOSTIC_H_
