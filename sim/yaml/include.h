// SPDX-License-Identifier: Apache-2.0
//
// Reads files and expands includes. `include: FILE` (or a list of files) in any mapping merges the
// file's mapping into it, key by key and not deeper: a key written in the mapping itself wins over
// an included one, a later file over an earlier one. Paths are relative to the including file.
#ifndef DRYCRANK_YAML_INCLUDE_H_
#define DRYCRANK_YAML_INCLUDE_H_

#include <cstddef>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "yaml/parse.h"
#include "yaml/problems.h"
#include "yaml/tree.h"

namespace drycrank::yaml {

class Files {
 public:
  // `begin`: what is said of an empty file, a remedy.
  explicit Files(Problems& problems, std::string begin = kBeginProfile)
      : problems_(problems), begin_(std::move(begin)) {}
  Files(const Files&) = delete;
  Files& operator=(const Files&) = delete;

  // The file's mapping, expanded. `named_at` is where its name is written; no line for a file named
  // by the caller. Nothing when it cannot be read at all.
  std::optional<Node> ReadProfile(const std::string& path, const Place& named_at);
  // Text of one more file (CSV), within the same limits.
  std::optional<std::string> ReadText(const std::string& path, const Place& named_at);
  // Every file read so far, in order.
  std::vector<std::string> names() const { return {names_.begin(), names_.end()}; }

 private:
  const Node* Parsed(const std::string& path, const Place& named_at);
  bool Expand(Node& node, int depth);
  bool ExpandInclude(Node& map, int depth);
  std::optional<Node> ReadPart(const Node& name, const Place& named_at, int depth);
  bool Count(std::size_t nodes, const Place& place);

  Problems& problems_;
  std::string begin_;
  std::deque<std::string> names_;  // stable addresses: nodes point here
  std::map<std::string, std::optional<Node>> parsed_;
  std::vector<std::string> open_;  // the chain of includes that is being expanded
  std::size_t nodes_ = 0;
};

// `path` as written in `file`, relative to that file's folder.
std::string PathBeside(const std::string& file, const std::string& path);

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_INCLUDE_H_
