// SPDX-License-Identifier: Apache-2.0
//
// A profile file as a plain tree, aliases and includes expanded. Each node knows the file, line and
// column it was written at, so that a problem of an included part names the part's own line.
#ifndef DRYCRANK_YAML_TREE_H_
#define DRYCRANK_YAML_TREE_H_

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::yaml {

// A place without a copy of the file's name. The string belongs to Files (include.h).
struct Spot {
  const std::string* file = nullptr;
  int line = 0, column = 0;

  Place Where() const { return {file == nullptr ? std::string() : *file, line, column}; }
};

struct Entry;

enum class NodeKind { kNull, kScalar, kList, kMap };

struct Node {
  NodeKind kind = NodeKind::kNull;
  Spot spot;
  std::string text;            // kScalar
  std::vector<Node> items;     // kList
  std::vector<Entry> entries;  // kMap, in the order of the file

  const Node* Find(std::string_view key) const;
  Place Where() const { return spot.Where(); }
};

struct Entry {
  std::string key;
  Spot key_spot;
  Node value;
};

// The node and all below it.
std::size_t CountNodes(const Node& node);

// "a mapping", "a list", "empty", "text": for messages.
const char* KindName(const Node& node);

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_TREE_H_
