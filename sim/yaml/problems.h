// SPDX-License-Identifier: Apache-2.0
//
// Collects what is wrong with a set of files. At most kMaxProblems are kept: a file that is wrong
// throughout is told so by its first ones.
#ifndef DRYCRANK_YAML_PROBLEMS_H_
#define DRYCRANK_YAML_PROBLEMS_H_

#include <cstddef>
#include <string>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::yaml {

class Problems {
 public:
  static constexpr std::size_t kMaxProblems = 500;

  void Add(Place place, std::string what, std::string remedy);
  // A problem that may be the consequence of another one elsewhere: a name that is not known, where
  // the file that should bring it has problems of its own. Left out while `quiet_references`.
  void AddReference(Place place, std::string what, std::string remedy);
  // The key of a whole section is not known: said first, and what can follow from the section's
  // absence is left out, but counted: all references since `first`, and `missing`, the text that
  // says that the section is not there.
  void AddCause(Place place, const std::string& what, const std::string& remedy, std::size_t first,
                const std::string& missing);
  void set_quiet_references(bool quiet) { quiet_references_ = quiet; }

  bool empty() const { return list_.empty(); }
  std::size_t size() const { return list_.size(); }
  // Causes first, then in the order of `files`, then of lines.
  [[nodiscard]] Diagnostics Sorted(const std::vector<std::string>& files) const;

 private:
  enum class Rank { kCause, kOwn, kReference };
  struct Problem {
    Diagnostic diagnostic;
    Rank rank = Rank::kOwn;
  };
  void Add(Diagnostic diagnostic, Rank rank);

  std::vector<Problem> list_;
  bool quiet_references_ = false;
};

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_PROBLEMS_H_
