// SPDX-License-Identifier: Apache-2.0
#include "yaml/parse.h"

#include <yaml-cpp/depthguard.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/yaml.h>

#include <map>
#include <sstream>
#include <utility>

#include "types/limits.h"
#include "types/plain_text.h"

namespace drycrank::yaml {
namespace {

// Thrown through the parser when a limit is passed; caught in ParseYaml.
struct LimitPassed {
  Spot spot;
  const char* what;
  const char* remedy;
};

// No text of a profile has lines: one of a block or with "\n" would begin a line of its own in a list on the
// terminal, or in a file. The end of a block's last line goes, too.
std::string InOneLine(const std::string& value) {
  if (value.find_first_of("\t\r\n") == std::string::npos && !HasControl(value)) return value;
  return OneLine(std::string_view(value).substr(0, value.find_last_not_of("\t\r\n ") + 1));
}

class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(const std::string& file, Problems& problems) : file_(file), problems_(problems) {}

  void OnDocumentStart(const YAML::Mark& /*mark*/) override {}
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    Put(NewNode(NodeKind::kNull, mark), anchor);
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    CheckTag(mark, tag);
    Node node = NewNode(NodeKind::kScalar, mark);
    node.text = InOneLine(value);
    if (HasControl(value)) {
      problems_.Add(node.Where(), "a text with a control character, written as an escape",
                    "leave it out: it is no character, but an order to the terminal");
    }
    Put(std::move(node), anchor);
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    const auto found = anchors_.find(anchor);
    if (found == anchors_.end()) {
      problems_.Add(SpotOf(mark).Where(), "an alias inside the node that it stands for",
                    "write the value out");
      Put(NewNode(NodeKind::kNull, mark), 0);
      return;
    }
    Count(CountNodes(found->second), SpotOf(mark));
    Put(found->second, 0);
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value /*style*/) override {
    CheckTag(mark, tag);
    Open(NewNode(NodeKind::kList, mark), anchor);
  }
  void OnSequenceEnd() override { Close(); }

  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value /*style*/) override {
    CheckTag(mark, tag);
    Open(NewNode(NodeKind::kMap, mark), anchor);
  }
  void OnMapEnd() override { Close(); }

  Node Take() { return std::move(root_); }

 private:
  // A list or mapping that is being read, and of a mapping the key whose value comes next.
  struct Level {
    Node node;
    YAML::anchor_t anchor = 0;
    std::optional<Entry> key;
  };

  Spot SpotOf(const YAML::Mark& mark) const { return {&file_, mark.line + 1, mark.column + 1}; }

  void Count(std::size_t nodes, Spot spot) {
    count_ += nodes;
    if (count_ > kMaxNodes) {
      throw LimitPassed{spot, "more than 200000 values, aliases unfolded",
                        "a profile needs far fewer"};
    }
  }

  Node NewNode(NodeKind kind, const YAML::Mark& mark) {
    Node node;
    node.kind = kind;
    node.spot = SpotOf(mark);
    Count(1, node.spot);
    return node;
  }

  void CheckTag(const YAML::Mark& mark, const std::string& tag) {
    if (tag.empty() || tag == "?" || tag == "!") return;
    problems_.Add(SpotOf(mark).Where(), "the YAML tag '" + tag + "' has no meaning in a profile",
                  "leave it out");
  }

  void Open(Node node, YAML::anchor_t anchor) {
    if (std::cmp_greater_equal(levels_.size(), kMaxDepth)) {
      throw LimitPassed{node.spot, "nested deeper than 32 levels", "a profile needs far fewer"};
    }
    levels_.push_back({std::move(node), anchor, std::nullopt});
  }

  void Close() {
    Level level = std::move(levels_.back());
    levels_.pop_back();
    Put(std::move(level.node), level.anchor);
  }

  void Put(Node node, YAML::anchor_t anchor) {
    if (anchor != 0) {
      Count(CountNodes(node), node.spot);  // the copy kept for its aliases
      anchors_[anchor] = node;
    }
    if (levels_.empty()) {
      root_ = std::move(node);
      return;
    }
    Level& level = levels_.back();
    if (level.node.kind == NodeKind::kList) {
      level.node.items.push_back(std::move(node));
    } else if (!level.key) {
      level.key = KeyFrom(node);
    } else {
      PutEntry(level, std::move(node));
    }
  }

  Entry KeyFrom(const Node& node) {
    if (node.kind != NodeKind::kScalar) {
      problems_.Add(node.Where(), std::string("a key that is ") + KindName(node),
                    "write a word before the colon");
      return {};
    }
    return {node.text, node.spot, {}};
  }

  void PutEntry(Level& level, Node node) {
    Entry entry = std::move(*level.key);
    level.key.reset();
    if (entry.key_spot.file == nullptr) return;  // not a usable key, said already
    entry.value = std::move(node);
    auto& seen = first_spots_[levels_.size()];
    if (level.node.entries.empty()) seen.clear();
    const auto [first, is_new] = seen.emplace(entry.key, entry.key_spot);
    if (!is_new) {
      problems_.Add(entry.key_spot.Where(), "key '" + entry.key + "' is written twice",
                    "the first is in line " + std::to_string(first->second.line) + "; keep one");
      return;
    }
    level.node.entries.push_back(std::move(entry));
  }

  const std::string& file_;
  Problems& problems_;
  std::vector<Level> levels_;
  std::map<std::size_t, std::map<std::string, Spot>> first_spots_;  // by level: keys so far
  std::map<YAML::anchor_t, Node> anchors_;
  std::size_t count_ = 0;
  Node root_;
};

}  // namespace

std::optional<Node> ParseYaml(const std::string& text, const std::string& file, Problems& problems,
                              const std::string& begin) {
  TreeBuilder builder(file, problems);
  try {
    std::istringstream stream(text);
    YAML::Parser parser(stream);
    if (!parser.HandleNextDocument(builder)) {
      problems.Add({file, 1, 1}, "the file is empty", begin);
      return std::nullopt;
    }
    Node root = builder.Take();
    TreeBuilder second(file, problems);
    if (parser.HandleNextDocument(second)) {
      problems.Add(second.Take().Where(), "a second YAML document in one file",
                   "write one file for each");
    }
    return root;
  } catch (const LimitPassed& limit) {
    problems.Add(limit.spot.Where(), limit.what, limit.remedy);
  } catch (const YAML::DeepRecursion& error) {
    problems.Add({file, error.mark.line + 1, error.mark.column + 1}, "nested deeper than 32 levels",
                 "a profile needs far fewer");
  } catch (const YAML::Exception& error) {
    problems.Add({file, error.mark.line + 1, error.mark.column + 1},
                 "not readable as YAML: " + error.msg,
                 "check indentation, quotes and brackets here and in the line before");
  }
  return std::nullopt;
}

}  // namespace drycrank::yaml
