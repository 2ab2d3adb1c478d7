// SPDX-License-Identifier: Apache-2.0
#include "yaml/tree.h"

namespace drycrank::yaml {

const Node* Node::Find(std::string_view key) const {
  for (const Entry& entry : entries) {
    if (entry.key == key) return &entry.value;
  }
  return nullptr;
}

std::size_t CountNodes(const Node& node) {
  std::size_t count = 1;
  for (const Node& item : node.items) count += CountNodes(item);
  for (const Entry& entry : node.entries) count += CountNodes(entry.value);
  return count;
}

const char* KindName(const Node& node) {
  switch (node.kind) {
    case NodeKind::kNull:
      return "empty";
    case NodeKind::kScalar:
      return "a single value";
    case NodeKind::kList:
      return "a list";
    case NodeKind::kMap:
      return "a mapping";
  }
  return "";
}

}  // namespace drycrank::yaml
